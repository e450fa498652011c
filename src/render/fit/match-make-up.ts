import { framesOf, type Audio, type StereoSound } from '../../audio/audio.ts';
import { gainOf } from '../../audio/decibels.ts';
import { samplePeakOf } from '../../audio/peak-level.ts';
import { processorOf } from '../../dsp/core/registry.ts';
import { isSplit } from '../../session/chain/chain-items.ts';
import type { ChainItem, ChainItems, ProcessorItem, Session } from '../../session/schema.ts';
import { stepsOf } from '../../session/values.ts';
import { renderChain } from '../chain-render.ts';
import { chainSteps } from '../mix.ts';
import type { FrameRange, StageInput } from '../stage-input.ts';

/**
 * What a chain depends on besides its items: tempo and meter for note values, and the sounds of processors, by file.
 */
export interface Song extends Pick<Session, 'tempo' | 'meter'> {
  readonly sounds?: ReadonlyMap<string, StereoSound>;
}

/** Measures integrated loudness, LUFS; null for silence. Passed in because src/render does not import src/measure. */
export type LoudnessMeter = (audio: Audio) => number | null;

/** Steps that a make-up is set in, to a dB. */
const GRID = 100;
/** Rounds of measuring: the absolute gate of the meter moves when the level does, so the first is not always exact. */
const ROUNDS = 4;
/** What is this near is exact but for the rounding of samples, LU. */
const EXACT_LU = 1e-6;

/** The settings with automatic make-up off and this constant make-up, dB. */
export const withMakeUp = (item: ProcessorItem, makeUp: number): ProcessorItem => {
  const settings = Object.entries(item.settings).filter(([id]) => id !== 'autoMakeUp');
  return { ...item, settings: { ...Object.fromEntries(settings), makeUp } };
};

/** The frames of a range, as views on the sound. */
export const cut = ({ sampleRate, channels }: Audio, { from, to }: FrameRange): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(from, to)),
});

/** A copy of the sound, louder by so many dB. */
export const raised = ({ sampleRate, channels }: Audio, gainDb: number): Audio => {
  const gain = gainOf(gainDb);
  return {
    sampleRate,
    channels: channels.map((channel) => {
      const out = new Float32Array(channel.length);
      for (let n = 0; n < out.length; n++) out[n] = gain * channel[n]!;
      return out;
    }),
  };
};

/** The gain, dB, at which `sound` is as loud as `loudness`; null where it has no loudness. */
export const gainTo = (sound: Audio, loudness: number, meter: LoudnessMeter): number | null => {
  // A sound turned far down would lie below the meter's absolute gate: it is first raised to full scale.
  const peak = Math.max(0, ...sound.channels.map(samplePeakOf));
  if (peak === 0) return null;
  let gain = -20 * Math.log10(peak);
  for (let round = 0; round < ROUNDS; round++) {
    const heard = meter(raised(sound, gain));
    if (heard === null) return null;
    gain += loudness - heard;
    if (Math.abs(loudness - heard) < EXACT_LU) break;
  }
  return gain;
};

/** The item as it is measured for its make-up: on, at a mix of 100 %, without any. */
const plainOf = (item: ProcessorItem): ProcessorItem => ({ ...withMakeUp(item, 0), on: true, mix: 100 });

/** The make-up at which `output`, made without any, is as loud as `input`, as a setting of the processor. */
const makeUpBetween = (input: Audio, output: Audio, processor: string, meter: LoudnessMeter): number | null => {
  const loudness = meter(input);
  const gain = loudness === null ? null : gainTo(output, loudness, meter);
  const parameter = processorOf(processor).parameters.makeUp;
  if (gain === null || parameter?.kind !== 'number') return null;
  return Math.min(parameter.max, Math.max(parameter.min, Math.round(gain * GRID) / GRID));
};

/** True for what has a make-up that can be matched. */
export const hasMakeUp = ({ processor }: Pick<ProcessorItem, 'processor'>): boolean => {
  const { parameters } = processorOf(processor);
  return parameters.makeUp?.kind === 'number' && parameters.autoMakeUp !== undefined;
};

/**
 * The constant make-up, dB, with which `item` gives out what comes in at the same integrated loudness, both over `range`
 * (the whole sound if null); its automatic make-up is taken as off and its share as at a mix of 100 %. To the nearest 0.01 dB, within the parameter's range;
 * null where input or output has no loudness. Takes one render and a few readings of the meter.
 */
export const matchingMakeUp = (
  input: Audio,
  item: ProcessorItem,
  range: FrameRange | null,
  song: Song,
  meter: LoudnessMeter,
): number | null => {
  const within = range ?? { from: 0, to: framesOf(input) };
  const output = renderChain(input, stepsOf([plainOf(item)], song.tempo, song.meter, song.sounds), null);
  return makeUpBetween(cut(input, within), cut(output, within), item.processor, meter);
};

/** The same for a processor in its chain, step by step; each step yields the part done, 0..1. */
export function* matchingMakeUpSteps(
  { sound, key }: StageInput,
  item: ProcessorItem,
  range: FrameRange,
  song: Song,
  meter: LoudnessMeter,
): Generator<number, number | null> {
  const steps = stepsOf([plainOf(item)], song.tempo, song.meter, song.sounds);
  const output = yield* chainSteps(sound, steps, key);
  return makeUpBetween(cut(sound, range), cut(output, range), item.processor, meter);
}

/** A chain whose make-ups are matched one after the other. */
export interface MatchedChain {
  readonly chain: ChainItems;
  /** What each processor was set to, those in splits too; null for all that has no make-up. */
  readonly makeUpDb: readonly (number | null)[];
}

/** Sets the make-up of every compressor of a chain that is on, see `matchingMakeUp`: each hears what those before it made. */
export const matchedChain = (
  input: Audio,
  chain: ChainItems,
  range: FrameRange | null,
  song: Song,
  meter: LoudnessMeter,
): MatchedChain => {
  const makeUpDb: (number | null)[] = [];
  const matchedIn = <T extends ChainItem>(
    items: readonly T[],
    sound: Audio,
    match: (item: T, heard: Audio) => T,
  ): T[] => {
    let heard = sound;
    return items.map((item, n) => {
      const set = match(item, heard);
      // Behind the last nothing hears it.
      if (n < items.length - 1) heard = renderChain(heard, stepsOf([set], song.tempo, song.meter, song.sounds), null);
      return set;
    });
  };
  const matchedProcessor = (item: ProcessorItem, heard: Audio): ProcessorItem => {
    const makeUp = item.on && hasMakeUp(item) ? matchingMakeUp(heard, item, range, song, meter) : null;
    makeUpDb.push(makeUp);
    return makeUp === null ? item : withMakeUp(item, makeUp);
  };
  const matched = matchedIn<ChainItem>(chain, input, (item, heard) =>
    isSplit(item) ? { ...item, split: matchedIn(item.split, heard, matchedProcessor) } : matchedProcessor(item, heard),
  );
  return { chain: matched, makeUpDb };
};
