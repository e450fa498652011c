import { describe, expect, it } from 'vitest';
import { onBothSides, type Audio } from '../../src/audio/audio.ts';
import { finished } from '../../src/audio/steps.ts';
import type { BandFigures, Measurement } from '../../src/measure/figures.ts';
import { measure } from '../../src/measure/measure.ts';
import { raised } from '../../src/render/fit/match-make-up.ts';
import { chainSteps } from '../../src/render/mix.ts';
import type { FittedItem } from '../../src/render/fit/fit-item.ts';
import { SENDS_WITHIN_LU, type Preset } from '../../src/session/presets/preset.ts';
import { presetByName, presets } from '../../src/session/presets/presets.ts';
import { stepsOf } from '../../src/session/values.ts';
import { fittedTo, SONG } from '../helpers/fitting.ts';
import { isSoaking, sampleOf } from '../helpers/soak.ts';
import { atLoudness, HELD_OUT, heldOutFor } from './held-out.ts';
import { sumOf } from './sums.ts';

const RATE = 48_000;
/** What is delivered at -1 dBTP stays below this, dBTP. */
const MOST_DBTP = -0.1;
/** Third octaves this far below the loudest carry no sound that matters, dB. */
const CARRIED_DB = 40;
/** Levels that are told are measured without the tail, by the same meter: rounding of gains and samples is left, LU. */
const TOLD_LU = 0.05;
/** Beyond a claim's range its filters still fall: so far on both sides a change is of its purpose, as a ratio. */
const SKIRT = 2;
/** What brings peaks down may leave crest as it was: a steady tone has none to lose, and its edges move by so much, dB. */
const SAME_CREST_DB = 0.3;

/** Thresholds are set in tenths: so much more than a preset says may be taken, dB. */
const TAKEN_DB = 0.06;

interface Tried {
  readonly levelLu: number | null;
  readonly items: readonly FittedItem[];
  readonly before: Measurement;
  /** By itself. */
  readonly after: Measurement;
  /** As it is used: beside the dry sound at its loudest usual blend, where only what is to be added comes out. */
  readonly used: Measurement;
}

/** Figures of the parts as they come, each measured once. */
const known = new WeakMap<Audio, Measurement>();
const measuredOnce = (sound: Audio): Measurement => {
  const figures = known.get(sound) ?? measure(sound);
  known.set(sound, figures);
  return figures;
};

const tried = (sound: Audio, preset: Preset): Tried => {
  const { chain, levelLu, items } = fittedTo(sound, preset);
  const out = finished(chainSteps(sound, stepsOf(chain, SONG.tempo, SONG.meter), null));
  const after = measure(out);
  const used = preset.level.kind === 'additive' ? measure(sumOf(sound, out, preset.usualBlendDb![1])) : after;
  return { levelLu, items, before: measuredOnce(sound), after, used };
};

/** How bands that carry sound moved, at equal loudness, dB. */
const moves = ({ before, used }: Tried): { readonly hz: number; readonly db: number }[] => {
  const gain = before.integratedLufs! - used.integratedLufs!;
  const level = ({ levelDb }: BandFigures): number => levelDb ?? -200;
  const floor = Math.max(...before.bands.map(level)) - CARRIED_DB;
  return before.bands.flatMap((band, n) =>
    level(band) < floor ? [] : [{ hz: band.hz, db: level(used.bands[n]!) - level(band) + gain }],
  );
};

const isOfPurpose = ({ claims }: Preset, hz: number): boolean =>
  claims.some((claim) => 'from' in claim && hz > claim.from / SKIRT && hz < claim.to * SKIRT);

const words = (list: readonly { readonly hz: number; readonly db: number }[]): string[] =>
  list.map(({ hz, db }) => `${hz.toFixed(0)} Hz by ${db.toFixed(1)} dB`);

// Each preset on one part that it suits; when soaking on all of them, and on the mix.
const cases = presets.flatMap((preset) => {
  const parts = heldOutFor(preset.suits);
  return [...new Set(isSoaking ? [...parts, 'mix' as const] : parts.slice(0, 1))].map(
    (part) => [preset.name, part, preset, parts.includes(part)] as const,
  );
});

describe('on parts that it was not written on, at -14 LUFS with peaks up to -1 dBTP', () => {
  it.each(cases)('%s keeps to its limits: %s', (_name, part, preset, isSuited) => {
    const result = tried(HELD_OUT[part](), preset);
    const { before, after, levelLu } = result;
    expect(after.truePeakDbtp).toBeLessThan(MOST_DBTP);
    expect(Math.abs(after.integratedLufs! - before.integratedLufs! - levelLu!)).toBeLessThan(TOLD_LU);
    const { boostDb, changeDb = Infinity, reductionDb } = preset.limits;
    for (const { taken } of result.items) {
      if (!taken) continue;
      expect(taken.meanDb).toBeLessThan(reductionDb!.mean + TAKEN_DB);
      expect(taken.peakDb).toBeLessThan(reductionDb!.peak + TAKEN_DB);
    }
    expect(words(moves(result).filter(({ db }) => db > boostDb))).toEqual([]);
    if (!isSuited) return;
    if (preset.level.kind === 'additive') {
      const { levelLu: most, softestLu = most - SENDS_WITHIN_LU } = preset.level;
      expect(levelLu).toBeLessThan(most + TOLD_LU);
      expect(levelLu).toBeGreaterThan(softestLu - TOLD_LU);
    }
    expect(words(moves(result).filter(({ hz, db }) => Math.abs(db) > changeDb && !isOfPurpose(preset, hz)))).toEqual(
      [],
    );
    if (!preset.claims.some(({ claim }) => claim === 'lowers crest')) return;
    expect(after.truePeakDbtp! - before.truePeakDbtp!).toBeLessThan(0.01);
    expect(after.crestDb! - before.crestDb!).toBeLessThan(SAME_CREST_DB);
  });
});

it.each([
  ['lead vocal press', 'voice with soft esses'],
  ['backing vocal levelling', 'choir with soft esses'],
] as const)('%s keeps to its limits: %s', (name, part) => {
  const preset = presetByName(name)!;
  const bright = moves(tried(HELD_OUT[part](), preset));
  expect(bright.some(({ hz }) => hz > 7000)).toBe(true);
  expect(words(bright.filter(({ db }) => db > preset.limits.boostDb))).toEqual([]);
});

/** The contract: what a preset does is the same at any level, within this, dB. */
const SAME_DB = 0.5;

const first = sampleOf(
  presets.filter(({ fit }) => fit !== undefined).map((preset) => [preset.name, preset] as const),
  5,
);

it.each(first)('%s does the same to sound that is 24 dB softer', (_name, preset) => {
  const sound = HELD_OUT[heldOutFor(preset.suits)[0]!]();
  const [loud, soft] = [tried(sound, preset), tried(raised(sound, -24), preset)];
  for (const figure of ['integratedLufs', 'crestDb', 'truePeakDbtp'] as const) {
    const [a, b] = [loud, soft].map(({ before, after }) => after[figure]! - before[figure]!);
    expect(Math.abs(a! - b!), figure).toBeLessThan(SAME_DB);
  }
  const bands = moves(loud);
  expect(words(moves(soft).filter(({ db }, n) => Math.abs(db - bands[n]!.db) > SAME_DB))).toEqual([]);
});

it('de-ess leaves a part without esses as it is, and takes the esses of another', () => {
  const preset = presetByName('de-ess')!;
  const without = moves(tried(HELD_OUT['voice without esses'](), preset)).map(({ db }) => db);
  const esses = moves(tried(HELD_OUT.voice(), preset)).filter(({ hz }) => hz > 5000 && hz < 10_000);
  expect(Math.max(...without.map(Math.abs))).toBeLessThan(0.5);
  expect(Math.min(...esses.map(({ db }) => db))).toBeLessThan(-2);
});

it('drum peak control takes as much from a stem at -49 LUFS as at -14 and at -4', () => {
  const preset = presetByName('drum peak control')!;
  const taken = [-49, -14, -4].map((lufs) => {
    const { before, after } = tried(atLoudness(HELD_OUT.drums(), lufs), preset);
    return before.crestDb! - after.crestDb!;
  });
  expect(taken[1]).toBeGreaterThan(1.5);
  expect(Math.abs(taken[0]! - taken[1]!)).toBeLessThan(0.5);
  expect(Math.abs(taken[2]! - taken[1]!)).toBeLessThan(0.5);
});

/** The most by which `out` is softer than `sound` in any 20 ms that are within 40 dB of the loudest, dB. */
const mostTaken = (sound: Audio, out: Audio): number => {
  const SPAN = 960;
  const energy = (samples: Float32Array, from: number): number =>
    samples.subarray(from, from + SPAN).reduce((sum, x) => sum + x * x, 0);
  const [before, after] = [sound.channels[0]!, out.channels[0]!];
  const starts = Array.from({ length: Math.floor(before.length / SPAN) - 1 }, (_, n) => n * SPAN);
  const loudest = Math.max(...starts.map((at) => energy(before, at)));
  const heard = starts.filter((at) => energy(before, at) > 1e-4 * loudest);
  return Math.max(...heard.map((at) => 10 * Math.log10(energy(before, at) / energy(after, at))));
};

it.each(['lead vocal press', 'drum squeeze', 'kick and snare crush', 'drum pumping'])(
  '%s takes no more than it says from a part with strokes 18 dB above the rest',
  (name) => {
    const preset = presetByName(name)!;
    const part = HELD_OUT[heldOutFor(preset.suits)[0]!]();
    const uneven: Audio = {
      ...part,
      channels: part.channels.map((channel) => channel.map((x, n) => x * (n % RATE < RATE / 4 ? 0.9 : 0.11))),
    };
    const { chain, items } = fittedTo(uneven, preset);
    const { item, taken } = items.find((each) => each.taken)!;
    expect(taken!.peakDb).toBeGreaterThan(preset.limits.reductionDb!.peak / 2);
    // Heard from outside: the compressor by itself, without make-up, against what reaches it.
    const before = chain.slice(
      0,
      chain.findIndex(({ id }) => id === item.id),
    );
    const input = finished(chainSteps(onBothSides(uneven), stepsOf(before, SONG.tempo, SONG.meter), null));
    const [step] = stepsOf([{ ...item, settings: { ...item.settings, makeUp: 0 } }], SONG.tempo, SONG.meter);
    const out = finished(chainSteps(input, [step!], null));
    expect(mostTaken(input, out)).toBeLessThan(preset.limits.reductionDb!.peak + 0.5);
  },
);

it('a return says how loud it is on what is in hand, softer where there is little to add', () => {
  const preset = presetByName('air send')!;
  const [bright, dull] = (['guitar', 'voice without esses'] as const).map((part) => fittedTo(HELD_OUT[part](), preset));
  expect(bright!.levelLu).toBeGreaterThan(dull!.levelLu! + 3);
  expect(dull!.softerFor).toBe('bands');
  // Far below the absolute gate of the meter it is the same.
  const faint = fittedTo(raised(HELD_OUT.guitar(), -70), preset);
  expect(faint.levelLu).toBeCloseTo(bright!.levelLu!, 1);
});
