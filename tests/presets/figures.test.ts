import { describe, expect, it } from 'vitest';
import { framesOf, type Audio } from '../../src/audio/audio.ts';
import { finished } from '../../src/audio/steps.ts';
import type { Figures } from '../../src/measure/figures.ts';
import { measure } from '../../src/measure/measure.ts';
import { renderChain } from '../../src/render/chain-render.ts';
import { chainSteps } from '../../src/render/mix.ts';
import { raised } from '../../src/render/fit/match-make-up.ts';
import type { Claim, Preset } from '../../src/session/presets/preset.ts';
import { presets } from '../../src/session/presets/presets.ts';
import type { ChainItems } from '../../src/session/schema.ts';
import { stepsOf } from '../../src/session/values.ts';
import { through } from '../helpers/chains.ts';
import { isSoaking } from '../helpers/soak.ts';
import { fittedTo, SONG } from '../helpers/fitting.ts';
import { judgeOf } from './claims.ts';
import { demoParts } from './demo-parts.ts';
import { sumOf } from './sums.ts';

/** The level of a return beside what feeds it, up to the end of the sound that it is fitted to, LU: gains are in hundredths. */
const LEVEL_LU = 0.1;
/** What a preset does is the same at any level within this, dB: what DEVELOPERS.md says of a preset. */
const SAME_DB = 0.5;
/** Input levels beside that of the song, dB. `held-out.test.ts` tries the contract in `npm test`, on shorter parts. */
const LEVELS = isSoaking ? [-12, -24] : [];
/** Bands this far below the loudest are not heard, dB. */
const UNHEARD_DB = 60;
/** True peaks may rise by so much, dB: what comes at -1 dBTP stays below -0.1. */
const PEAK_RISE_DB = 0.9;

const steps = ({ chain }: { readonly chain: ChainItems }) => stepsOf(chain, SONG.tempo, SONG.meter);
/** The first `frames` of it. */
const beginning = ({ sampleRate, channels }: Audio, frames: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(0, frames)),
});
/** From 50 to 350 ms after frame `end`. */
const pieceOf = ({ sampleRate, channels }: Audio, end: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(end + 0.05 * sampleRate, end + 0.35 * sampleRate)),
});
const claimed = (name: Claim['claim']): Preset[] =>
  presets.filter(({ claims }) => claims.some(({ claim }) => claim === name));

/** Both sets of figures are alike: loudness, crest, true peak, and every band that is heard. */
const expectSame = (softer: Figures, whole: Figures, at: string): void => {
  for (const figure of ['integratedLufs', 'crestDb', 'truePeakDbtp'] as const)
    expect(Math.abs(softer[figure]! - whole[figure]!), `${figure} ${at}`).toBeLessThan(SAME_DB);
  const floor = Math.max(...whole.bands.map(({ levelDb }) => levelDb ?? -200)) - UNHEARD_DB;
  for (const [n, { hz, levelDb }] of whole.bands.entries())
    if ((levelDb ?? -200) > floor)
      expect(Math.abs(softer.bands[n]!.levelDb! - levelDb!), `${hz} Hz ${at}`).toBeLessThan(SAME_DB);
};

/** What makes presets be judged alike: how their level is set, and what they claim. */
const kindOf = ({ level, claims }: Preset): string => [level.kind, ...claims.map(({ claim }) => claim).sort()].join();

/** One preset of a kind; all when soaking. `held-out.test.ts` tries every preset. */
const tried = isSoaking ? presets : [...new Map(presets.map((preset) => [kindOf(preset), preset])).values()];

describe('on the parts of the demo song that it suits, each preset', () => {
  it.each(tried.map((preset) => [preset.name, preset] as const))('%s', async (_name, preset) => {
    const sound = await demoParts(preset.suits);
    const fitted = fittedTo(sound, preset);
    const wet = renderChain(sound, steps(fitted), null);
    const before = measure(sound);
    const after = measure(wet);

    // Comes back as loud as it says, or softer, with the reason told.
    const frames = framesOf(sound);
    const whole = measure(beginning(wet, frames));
    const change = whole.integratedLufs! - before.integratedLufs!;
    const levelLu = preset.level.kind === 'additive' ? preset.level.levelLu : 0;
    expect(change - levelLu).toBeLessThan(LEVEL_LU);
    expect(fitted.softerFor !== null || change - levelLu > -LEVEL_LU).toBe(true);
    expect(after.truePeakDbtp! - before.truePeakDbtp!).toBeLessThan(PEAK_RISE_DB);

    // Does to the figures what it says, by itself, and beside the dry sound where it is used like that.
    const { usualBlendDb } = preset;
    const beside = usualBlendDb && measure(sumOf(sound, wet, usualBlendDb[1]));
    for (const claim of preset.claims) {
      expect([claim.claim, judgeOf(claim)?.(before, after) ?? null]).toEqual([claim.claim, null]);
      if (beside && claim.claim !== 'lowers crest')
        expect([claim.claim, 'beside', judgeOf(claim)?.(before, beside) ?? null]).toEqual([
          claim.claim,
          'beside',
          null,
        ]);
    }

    // What adds a tail sounds on after its sound has ended.
    if (preset.claims.some(({ claim }) => claim === 'adds tail'))
      expect(measure(pieceOf(wet, framesOf(sound))).rmsDbfs).toBeGreaterThan(-70);

    expect(Math.abs(after.dcOffset!)).toBeLessThan(1e-3);

    // Does the same to softer sound. What holds nothing that depends on level: `tests/dsp/level.test.ts`.
    if (preset.fit === undefined) return;
    for (const db of LEVELS) {
      const soft = raised(sound, db);
      const made = finished(chainSteps(soft, steps(fittedTo(soft, preset)), null));
      expectSame(measure(raised(made, -db)), whole, `at ${db} dB`);
    }
  });
});

describe('claims that one pass does not tell', () => {
  it('a ceiling is kept by what comes in far too loud', async () => {
    for (const preset of claimed('keeps the ceiling'))
      for (const claim of preset.claims) {
        if (claim.claim !== 'keeps the ceiling') continue;
        const after = measure(renderChain(raised(await demoParts(preset.suits), 18), steps(preset), null));
        expect(after.truePeakDbtp, preset.name).toBeLessThan(claim.ceilingDbtp + 0.05);
        expect(after.truePeakDbtp, preset.name).toBeGreaterThan(claim.ceilingDbtp - 1);
      }
  });

  it('what gives way to its key is softer while the key sounds, and as it was without', async () => {
    for (const preset of claimed('ducks to its key')) {
      const { channels, sampleRate } = await demoParts(preset.suits);
      const key = await demoParts(['lead vocal']);
      const both = ({ channels: [left, right] }: Audio) => ({
        left: Float64Array.from(left!),
        right: Float64Array.from(right!),
      });
      const chain = steps(fittedTo({ channels, sampleRate }, preset, key));
      const given = through(chain, both({ channels, sampleRate }), sampleRate, both(key));
      const alone = through(chain, both({ channels, sampleRate }), sampleRate);
      const rms = (samples: Float64Array): number => Math.hypot(...chunks(samples));
      const drop = 20 * Math.log10(rms(given.left) / rms(alone.left));
      expect(drop, preset.name).toBeLessThan(-1);
      expect(drop, preset.name).toBeGreaterThan(-6);
      expect(20 * Math.log10(rms(alone.left) / rms(Float64Array.from(channels[0]!)))).toBeCloseTo(0, 3);
    }
  });
});

/** Roots of the energies of pieces: a spread argument list must stay short. */
function chunks(samples: Float64Array): number[] {
  const pieces: number[] = [];
  for (let from = 0; from < samples.length; from += 8192)
    pieces.push(Math.sqrt(samples.subarray(from, from + 8192).reduce((sum, x) => sum + x * x, 0)));
  return pieces;
}
