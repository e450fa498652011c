import type { Audio } from '../../audio/audio.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { partOf } from '../../audio/steps.ts';
import { chainLatency } from '../../dsp/core/chain.ts';
import { allItems, isSplit } from '../../session/chain/chain-items.ts';
import type { Preset } from '../../session/presets/preset.ts';
import type { ChainItem, ChainItems, ProcessorItem } from '../../session/schema.ts';
import { stepsOf } from '../../session/values.ts';
import { assembled, raisedAtEnd, type Part } from './fit-gains.ts';
import { fittedItemSteps, type FittedItem, type Fitting } from './fit-item.ts';
import { cut, gainTo, raised, type Song } from './match-make-up.ts';
import { chainSteps } from '../mix.ts';
import type { StageInput } from '../stage-input.ts';

/** The meters used for fitting. They are passed in because src/render does not import src/measure. */
export interface FitMeters extends Fitting {
  /** True peak, dBTP; null for silence. */
  readonly truePeak: (audio: Audio) => number | null;
  /** Level of each third octave, dB; null where it holds nothing. */
  readonly bands: (audio: Audio) => readonly (number | null)[];
}

/** What of a preset says how it is laid on a sound. */
export type Fittable = Pick<Preset, 'chain' | 'claims' | 'fit' | 'level' | 'limits' | 'usualBlendDb'>;

/** A chain set for the sound that comes to it. */
export interface FittedChain {
  readonly chain: ChainItems;
  /** Those of its processors that depend on level, in order. */
  readonly items: readonly FittedItem[];
  /** The one gain at the end that brings the chain to its level, dB; null: none was set. */
  readonly gainDb: number | null;
  /** What it gives out against what comes in, LU; null: there was no loudness to measure. */
  readonly levelLu: number | null;
  /**
   * Why it is quieter than the preset states: true peaks or third octaves would rise too far, or the input holds too
   * little of what it adds.
   */
  readonly softerFor: 'peaks' | 'bands' | 'little to add' | null;
}

/**
 * Largest rise of the true peak through a chain, dB: with it, a mix at -1 dBTP stays below -0.1 dBTP. A preset that
 * lowers crest may raise none.
 */
const PEAK_ROOM_DB = 0.8;
const peakRoom = ({ claims }: Fittable): number =>
  claims.some(({ claim }) => claim === 'lowers crest') ? 0 : PEAK_ROOM_DB;
/** What a preset adds is raised by so much at most beyond what is written, dB: where there is little to add, it stays soft. */
const MOST_ADDED_DB = 12;

interface Bound {
  readonly softerFor: NonNullable<FittedChain['softerFor']>;
  readonly db: number;
}

/** A fitted item, with the gain before it that is taken back after it, dB. */
interface SetItem {
  readonly item: ChainItem;
  readonly gainDb: number;
}

/** Fits one chain, item by item. */
class ChainFitting {
  readonly items: FittedItem[] = [];
  /** Ids of all its items, and of the gains set beside them. */
  readonly ids: Set<string>;

  constructor(
    private readonly preset: Fittable,
    private readonly meters: FitMeters,
  ) {
    this.ids = new Set(allItems(preset.chain).map(({ id }) => id));
  }

  /** The parts that items become, and what these make of the input. */
  *run<T extends ChainItem>(
    items: readonly T[],
    { sound, key }: StageInput,
  ): Generator<number, { parts: Part[]; out: Audio }> {
    const { tempo, meter, sounds } = this.meters.song;
    const parts: Part[] = [];
    let out = sound;
    for (const [n, each] of items.entries()) {
      const [from, half, to] = [n / items.length, (n + 0.5) / items.length, (n + 1) / items.length];
      const { item, gainDb } = yield* partOf(this.set(each, { sound: out, key }), from, half);
      const input = gainDb === 0 ? out : raised(out, gainDb);
      out = yield* partOf(chainSteps(input, stepsOf([item], tempo, meter, sounds), key), half, to);
      if (gainDb !== 0) out = raised(out, -gainDb);
      parts.push(...(gainDb === 0 ? [item] : [gainDb, item, -gainDb]));
    }
    return { parts, out };
  }

  private *set(item: ChainItem, input: StageInput): Generator<number, SetItem> {
    const { fit, limits } = this.preset;
    if (!fit || !item.on) return { item, gainDb: 0 };
    if (isSplit(item)) {
      const { parts } = yield* this.run(item.split, input);
      return { item: { ...item, split: assembled(parts, this.ids) as ProcessorItem[] }, gainDb: 0 };
    }
    const fitted = yield* fittedItemSteps(input, item, { fit, limits }, this.meters);
    if (!fitted) return { item, gainDb: 0 };
    this.items.push(fitted);
    return fitted;
  }
}

/** Third octaves this far below the loudest carry no sound that matters, dB. */
const CARRIED_DB = 40;

const powerOf = (db: number | null): number => (db === null ? 0 : 10 ** (db / 10));

const added = (a: Audio, b: Audio): Audio => ({
  sampleRate: a.sampleRate,
  channels: a.channels.map((channel, n) => {
    const sum = channel.slice();
    const other = b.channels[n]!;
    for (let i = 0; i < sum.length; i++) sum[i]! += other[i]!;
    return sum;
  }),
});

/**
 * By how much a return may be raised, dB, until a third octave of the dry sound rises by more than the preset allows.
 */
const bandRoom = (input: Audio, out: Audio, { limits, usualBlendDb }: Fittable, bands: FitMeters['bands']): number => {
  const wet = raised(out, usualBlendDb?.[1] ?? 0);
  const [dryPower, wetPower, sumPower] = [input, wet, added(input, wet)].map((sound) => bands(sound).map(powerOf));
  const floor = Math.max(...dryPower!) * powerOf(-CARRIED_DB);
  const most = powerOf(limits.boostDb);
  // At a gain g a band holds D + 2 g C + g^2 W, where D + 2 C + W is what both hold together. What is empty may be filled so
  // far as if it held the least that matters.
  const gains = dryPower!.map((dry, n) => {
    const power = wetPower![n]!;
    const cross = (sumPower![n]! - dry - power) / 2;
    const room = most * Math.max(dry, floor) - dry;
    return power === 0 ? Infinity : (Math.sqrt(cross ** 2 + power * room) - cross) / power;
  });
  return decibelsOf(Math.min(...gains));
};

/** What bounds the gain of a chain, the tightest first, dB. */
const bounds = (input: Audio, out: Audio, preset: Fittable, { truePeak, bands }: FitMeters): Bound[] => {
  const peaks: Bound = { softerFor: 'peaks', db: truePeak(input)! + peakRoom(preset) - truePeak(out)! };
  if (preset.level.kind !== 'additive') return [peaks];
  const ofReturn: Bound[] = [
    { softerFor: 'bands', db: bandRoom(input, out, preset, bands) },
    { softerFor: 'little to add', db: MOST_ADDED_DB },
  ];
  return [peaks, ...ofReturn].sort((a, b) => a.db - b.db);
};

/** The gain that brings what a chain gives out to the level that its preset states. */
const levelGain = (
  input: Audio,
  out: Audio,
  preset: Fittable,
  meters: FitMeters,
): Pick<FittedChain, 'gainDb' | 'levelLu' | 'softerFor'> => {
  const { level } = preset;
  const from = meters.loudness(input);
  const raise = from === null ? null : gainTo(out, from, meters.loudness);
  if (raise === null) return { gainDb: null, levelLu: null, softerFor: null };
  if (level.kind === 'as it comes') return { gainDb: null, levelLu: -raise, softerFor: null };
  const wanted = raise + (level.kind === 'additive' ? level.levelLu : 0);
  const [tightest] = bounds(input, out, preset, meters);
  // Down to the hundredth, so that nothing is passed by rounding.
  const gain = Math.floor(100 * Math.min(wanted + 0.005, tightest!.db)) / 100;
  return { gainDb: gain, levelLu: gain - raise, softerFor: gain > wanted - 0.01 ? null : tightest!.softerFor };
};

/**
 * What the items make of the input in one run. `piecewise` was made item by item: where an item has latency, those after it
 * hear the sound later in one run than there, and what moves by itself stands elsewhere then.
 */
function* wholeSteps(
  { sound, key }: StageInput,
  items: ChainItems,
  { tempo, meter, sounds }: Song,
  piecewise: Audio,
): Generator<number, Audio> {
  const steps = stepsOf(items, tempo, meter, sounds);
  const isSame = steps.slice(0, -1).every((step) => chainLatency([step], sound.sampleRate) === 0);
  return isSame ? piecewise : yield* chainSteps(sound, steps, key);
}

/**
 * Fits a preset to what comes to its chain: each processor is measured at what really reaches it and set as far from what is
 * written as that is from the level it is written for; then one constant gain brings the chain to the level that the
 * preset states, over the range. So a chain does the same to a sound that comes softer or louder. What is silent stays as
 * written. `sound` and `key` are stereo. Each step yields the part done, 0..1.
 */
export function* fittedChainSteps(
  input: StageInput,
  preset: Fittable,
  meters: FitMeters,
): Generator<number, FittedChain> {
  const fitting = new ChainFitting(preset, meters);
  const { parts, out: piecewise } = yield* partOf(fitting.run(preset.chain, input), 0, 0.7);
  const out = yield* partOf(wholeSteps(input, assembled(parts, new Set(fitting.ids)), meters.song, piecewise), 0.7, 1);
  const level = levelGain(cut(input.sound, meters.range), cut(out, meters.range), preset, meters);
  const ended = level.gainDb === null ? parts : raisedAtEnd(parts, level.gainDb);
  return { chain: assembled(ended, fitting.ids), items: fitting.items, ...level };
}
