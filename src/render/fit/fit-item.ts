import type { Audio } from '../../audio/audio.ts';
import { peakLevelOf } from '../../audio/peak-level.ts';
import { partOf } from '../../audio/steps.ts';
import type { NumberParameter } from '../../dsp/core/parameter.ts';
import { processorOf } from '../../dsp/core/registry.ts';
import type { PresetFit, PresetLimits } from '../../session/presets/preset.ts';
import type { ProcessorItem } from '../../session/schema.ts';
import { valuesOf } from '../../session/values.ts';
import {
  cut,
  hasMakeUp,
  matchingMakeUpSteps,
  raised,
  withMakeUp,
  type LoudnessMeter,
  type Song,
} from './match-make-up.ts';
import { boundedSteps, type Taken } from './bounded-reduction.ts';
import type { FrameRange, StageInput } from '../stage-input.ts';

/** What a chain is fitted with: the song, the range and the loudness meter. */
export interface Fitting {
  readonly range: FrameRange;
  readonly song: Song;
  readonly loudness: LoudnessMeter;
}

/** One processor, set for the sound that reaches it. */
export interface FittedItem {
  readonly item: ProcessorItem;
  /** Level of what reaches it, LUFS or dBFS as the preset goes by. */
  readonly reachedDb: number;
  /** Settings that differ from the preset as written. */
  readonly settings: Readonly<Record<string, number>>;
  /**
   * Gain before the processor, dB, taken back after it: the part of the level difference that its settings cannot
   * cover.
   */
  readonly gainDb: number;
  /** Of a compressor: its gain reduction, dB. */
  readonly taken?: Taken;
}

/** Steps of settings, to a dB: parameters show one digit. */
const GRID = 10;
const onGrid = (db: number): number => Math.round(db * GRID) / GRID;

const levelOf = (sound: Audio, to: PresetFit['to'], loudness: LoudnessMeter): number | null =>
  to === 'peaks' ? peakLevelOf(sound) : loudness(sound);

/** Settings that follow the level, with their parameters. */
const followers = ({ processor, settings }: ProcessorItem): [string, number, NumberParameter][] => {
  const { parameters } = processorOf(processor);
  return Object.entries(settings).flatMap(([id, value]): [string, number, NumberParameter][] => {
    const parameter = parameters[id];
    const follows = parameter?.kind === 'number' && parameter.followsLevel === true;
    return follows && typeof value === 'number' ? [[id, value, parameter]] : [];
  });
};

const isDriven = (item: ProcessorItem, { tempo, meter }: Song): boolean =>
  processorOf(item.processor).driven?.(valuesOf(item, tempo, meter)) === true;

const isKeyed = (item: ProcessorItem, { tempo, meter }: Song): boolean =>
  processorOf(item.processor).listensToKey?.(valuesOf(item, tempo, meter)) === true;

/** True if the processor changes loud and quiet sound differently. */
export const dependsOnLevel = (item: ProcessorItem, song: Song): boolean =>
  followers(item).length > 0 || isDriven(item, song);

/** Settings moved by `deltaDb`, as far as all of them can move together, and what is left of it, dB. */
const moved = (item: ProcessorItem, deltaDb: number, song: Song): Pick<FittedItem, 'settings' | 'gainDb'> => {
  const following = isDriven(item, song) ? [] : followers(item);
  const least = Math.max(...following.map(([, value, { min }]) => min - value));
  const most = Math.min(...following.map(([, value, { max }]) => max - value));
  const shift = following.length === 0 ? 0 : Math.min(most, Math.max(least, deltaDb));
  const settings = Object.fromEntries(following.map(([id, value]) => [id, onGrid(value + shift)]));
  // A key comes from elsewhere: its level is not to be changed here.
  return { settings: shift === 0 ? {} : settings, gainDb: isKeyed(item, song) ? 0 : onGrid(shift - deltaDb) };
};

/**
 * Sets a processor for the sound (or key) that reaches it: what is written for `at` moves by how far the sound is from
 * there, or less where a compressor would take more than `limits` allow, and its make-up, if it has one, to what gives out the
 * loudness that comes in. null: it does not depend on level, or what reaches it is silent, so that it stays as written. Each
 * step yields the part done, 0..1.
 */
export function* fittedItemSteps(
  { sound, key }: StageInput,
  item: ProcessorItem,
  { fit, limits }: { readonly fit: PresetFit; readonly limits: PresetLimits },
  fitting: Fitting,
): Generator<number, FittedItem | null> {
  const { range, song, loudness } = fitting;
  const keyed = isKeyed(item, song);
  const heard = keyed ? key : sound;
  const reachedDb = heard && levelOf(cut(heard, range), fit.to, loudness);
  if (reachedDb === null || !dependsOnLevel(item, song)) return null;
  const { settings: byLevel, gainDb } = moved(item, onGrid(reachedDb - fit.at), song);
  const withSettings = (settings: FittedItem['settings']): ProcessorItem => ({
    ...item,
    settings: { ...item.settings, ...settings },
  });
  if (keyed || !hasMakeUp(item)) return { item: withSettings(byLevel), reachedDb, settings: byLevel, gainDb };
  const input = { sound: gainDb === 0 ? sound : raised(sound, gainDb), key };
  const following = followers(item);
  const written = Object.fromEntries(following.map(([id, value]) => [id, value]));
  const most = Object.fromEntries(following.map(([id, , { max }]) => [id, max]));
  const start = { ...written, ...byLevel };
  const bounded = yield* partOf(boundedSteps(input, item, start, most, limits.reductionDb, range, song), 0, 0.5);
  const settings = Object.fromEntries(Object.entries(bounded.settings).filter(([id, value]) => value !== written[id]));
  const set = withSettings(settings);
  const told = { reachedDb, gainDb, ...(bounded.taken && { taken: bounded.taken }) };
  const makeUp = yield* partOf(matchingMakeUpSteps(input, set, range, song, loudness), 0.5, 1);
  if (makeUp === null) return { item: set, settings, ...told };
  return { item: withMakeUp(set, makeUp), settings: { ...settings, makeUp }, ...told };
}
