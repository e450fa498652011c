import type { Audio } from '../../audio/audio.ts';
import { gainOf } from '../../audio/decibels.ts';
import { partOf } from '../../audio/steps.ts';
import type { ProcessorStep } from '../../dsp/core/chain.ts';
import { POINT_FRAMES } from '../../dsp/dynamics/reduction-history.ts';
import type { PresetLimits } from '../../session/presets/preset.ts';
import type { ProcessorItem } from '../../session/schema.ts';
import { stepsOf } from '../../session/values.ts';
import { cut, type Song } from './match-make-up.ts';
import { reductionSteps } from '../reduction.ts';
import type { FrameRange, StageInput } from '../stage-input.ts';

/** Gain reduction of a compressor over a range, dB. */
export interface Taken {
  /** Mean over the time in which there is sound and it turns down by ACTIVE_DB or more; 0 where it never does. */
  readonly meanDb: number;
  readonly peakDb: number;
}

/** Less than this is not counted as turning down, dB. */
const ACTIVE_DB = 0.5;
/** Sound this far below the loudest peak is none: what a release does after the end is not counted, dB. */
const CARRIED_DB = 40;
/** Passing a bound by less than this is left, dB: thresholds are set in tenths. */
const ROOM_DB = 0.05;
/** Looks at the reduction: each brings it down by nearly all that is too much. */
const MOST_LOOKS = 12;
/** Steps of thresholds, to a dB. */
const GRID = 10;

/** Peak of each stretch of POINT_FRAMES from frame `from` on, either channel. */
const stretchPeaks = ({ channels }: Audio, from: number): Float32Array => {
  const frames = channels[0]!.length;
  return Float32Array.from({ length: Math.ceil((frames - from) / POINT_FRAMES) }, (_, n) => {
    const at = from + n * POINT_FRAMES;
    let peak = 0;
    for (const channel of channels)
      for (let i = at; i < Math.min(frames, at + POINT_FRAMES); i++) peak = Math.max(peak, Math.abs(channel[i]!));
    return peak;
  });
};

function* takenSteps(
  { sound, key }: StageInput,
  item: ProcessorItem,
  range: FrameRange,
  song: Song,
): Generator<number, Taken | null> {
  const [step] = stepsOf([{ ...item, on: true, mix: 100 }], song.tempo, song.meter, song.sounds);
  const heard = { from: 0, to: range.to };
  const input = { sound: cut(sound, heard), key: key && cut(key, heard) };
  const reduction = yield* reductionSteps(input, step as ProcessorStep, range.from);
  if (!reduction) return null;
  const peaks = stretchPeaks(input.sound, range.from);
  const least = peaks.reduce((most, peak) => Math.max(most, peak), 0) * gainOf(-CARRIED_DB);
  const active = reduction.reductionDb.filter((db, n) => db >= ACTIVE_DB && peaks[n]! > least);
  return {
    meanDb: active.length === 0 ? 0 : active.reduce((sum, db) => sum + db, 0) / active.length,
    peakDb: reduction.reductionDb.reduce((most, db) => Math.max(most, db), 0),
  };
}

/** Settings of an item, and what it then takes; null: it tells no reduction. */
export interface Bounded {
  readonly settings: Readonly<Record<string, number>>;
  readonly taken: Taken | null;
}

/**
 * Raises the thresholds of a compressor (its `settings` that follow the level, at most up to `most`) until it takes no more
 * than a preset says, on average and at its peaks. Without bounds, or within them, they stay. Each step yields the part done, 0..1.
 */
export function* boundedSteps(
  input: StageInput,
  item: ProcessorItem,
  settings: Readonly<Record<string, number>>,
  most: Readonly<Record<string, number>>,
  bounds: PresetLimits['reductionDb'],
  range: FrameRange,
  song: Song,
): Generator<number, Bounded> {
  let set = settings;
  let taken: Taken | null = null;
  for (let look = 0; look < (bounds ? MOST_LOOKS : 1); look++) {
    const tried = { ...item, settings: { ...item.settings, ...set } };
    taken = yield* partOf(takenSteps(input, tried, range, song), look / MOST_LOOKS, (look + 1) / MOST_LOOKS);
    if (!taken || !bounds) break;
    const excess = Math.max(taken.meanDb - bounds.mean, taken.peakDb - bounds.peak);
    if (excess <= ROOM_DB) break;
    const raise = Math.ceil(GRID * excess) / GRID;
    set = Object.fromEntries(
      Object.entries(set).map(([id, value]) => [id, Math.min(most[id]!, Math.round(GRID * (value + raise)) / GRID)]),
    );
  }
  return { settings: set, taken };
}
