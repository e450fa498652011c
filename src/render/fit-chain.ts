import type { Audio } from '../audio/audio.ts';
import { partOf } from '../audio/steps.ts';
import { allItems, isSplit } from '../session/chain-items.ts';
import type { Preset } from '../session/preset.ts';
import type { ChainItem, ChainItems, ProcessorItem } from '../session/schema.ts';
import { stepsOf } from '../session/values.ts';
import { assembled, raisedAtEnd, type Part } from './fit-gains.ts';
import { fittedItemSteps, type FittedItem, type Fitting } from './fit-item.ts';
import { cut, gainTo, raised } from './match-make-up.ts';
import { chainSteps } from './mix.ts';
import type { StageInput } from './stage-input.ts';

/** Meters come from outside, as rendering does not stand on measuring. */
export interface FitMeters extends Fitting {
  /** True peak, dBTP; null for silence. */
  readonly truePeak: (audio: Audio) => number | null;
}

/** What of a preset says how it is laid on a sound. */
export type Fittable = Pick<Preset, 'chain' | 'fit' | 'level'>;

/** A chain set for the sound that comes to it. */
export interface FittedChain {
  readonly chain: ChainItems;
  /** Those of its processors that depend on level, in order. */
  readonly items: readonly FittedItem[];
  /** The one gain at the end that brings the chain to its level, dB; null: none was set. */
  readonly gainDb: number | null;
  /** What it gives out against what comes in, LU; null: there was no loudness to measure. */
  readonly levelLu: number | null;
  /** Why it is softer than the preset says: its peaks would rise else, or there is too little of what it adds. */
  readonly softerFor: 'peaks' | 'little to add' | null;
}

/** True peaks may rise by so much through a chain, dB: what is delivered at -1 dBTP stays below -0.1. */
const PEAK_ROOM_DB = 0.8;
/** What a preset adds is raised by so much at most beyond what is written, dB: where there is little to add, it stays soft. */
const MOST_ADDED_DB = 12;

/** What one item became, with a gain before it that is taken back behind it, dB. */
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
    const { fit } = this.preset;
    if (!fit || !item.on) return { item, gainDb: 0 };
    if (isSplit(item)) {
      const { parts } = yield* this.run(item.split, input);
      return { item: { ...item, split: assembled(parts, this.ids) as ProcessorItem[] }, gainDb: 0 };
    }
    const fitted = yield* fittedItemSteps(input, item, fit, this.meters);
    if (!fitted) return { item, gainDb: 0 };
    this.items.push(fitted);
    return fitted;
  }
}

/** The gain that brings what a chain gives out to the level that its preset states. */
const levelGain = (
  input: Audio,
  out: Audio,
  level: Preset['level'],
  { loudness, truePeak }: FitMeters,
): Pick<FittedChain, 'gainDb' | 'levelLu' | 'softerFor'> => {
  const from = loudness(input);
  const raise = from === null ? null : gainTo(out, from, loudness);
  if (raise === null) return { gainDb: null, levelLu: null, softerFor: null };
  if (level.kind === 'as it comes') return { gainDb: null, levelLu: -raise, softerFor: null };
  const wanted = raise + (level.kind === 'additive' ? level.levelLu : 0);
  const mostAdded = level.kind === 'additive' ? MOST_ADDED_DB : Infinity;
  const room = truePeak(input)! + PEAK_ROOM_DB - truePeak(out)!;
  const gain = Math.round(100 * Math.min(wanted, mostAdded, room)) / 100;
  const softerFor = gain > wanted - 0.01 ? null : room < mostAdded ? 'peaks' : 'little to add';
  return { gainDb: gain, levelLu: gain - raise, softerFor };
};

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
  const { parts, out } = yield* fitting.run(preset.chain, input);
  const level = levelGain(cut(input.sound, meters.range), cut(out, meters.range), preset.level, meters);
  const ended = level.gainDb === null ? parts : raisedAtEnd(parts, level.gainDb);
  return { chain: assembled(ended, fitting.ids), items: fitting.items, ...level };
}
