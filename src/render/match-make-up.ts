import { framesOf, type Audio } from '../dsp/audio.ts';
import { gainOf } from '../dsp/decibels.ts';
import type { Settings } from '../dsp/parameter.ts';
import { processorOf } from '../dsp/registry.ts';
import type { ChainItem, ChainItems, Session } from '../session/schema.ts';
import { stepsOf } from '../session/values.ts';
import { renderChain } from './chain-render.ts';

/** Frames from..to-1 of a sound. */
export interface FrameRange {
  readonly from: number;
  readonly to: number;
}

/** What note values depend on. */
type Song = Pick<Session, 'tempo' | 'meter'>;

/** Integrated loudness, LUFS; null where there is none. It comes from outside, as rendering does not stand on measuring. */
export type LoudnessMeter = (audio: Audio) => number | null;

/** Steps that a make-up is set in, to a dB. */
const GRID = 100;
/** Rounds of measuring: the absolute gate of the meter moves when the level does, so the first is not always exact. */
const ROUNDS = 4;

/** Settings that switch off what `item` does about its own level, and set this constant instead. */
const withMakeUp = (item: ChainItem, makeUp: number): ChainItem => {
  const settings: Settings = { ...item.settings, makeUp, autoMakeUp: false };
  return { ...item, settings };
};

const cut = ({ sampleRate, channels }: Audio, { from, to }: FrameRange): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(from, to)),
});

const raised = ({ sampleRate, channels }: Audio, gainDb: number): Audio => {
  const gain = gainOf(gainDb);
  return { sampleRate, channels: channels.map((channel) => channel.map((x) => gain * x)) };
};

/** The gain, dB, at which `sound` is as loud as `loudness`; null where it has no loudness. */
const gainTo = (sound: Audio, loudness: number, meter: LoudnessMeter): number | null => {
  // A sound turned far down would lie below the meter's absolute gate: it is first raised to full scale.
  let peak = 0;
  for (const channel of sound.channels) for (const x of channel) peak = Math.max(peak, Math.abs(x));
  if (peak === 0) return null;
  let gain = -20 * Math.log10(peak);
  for (let round = 0; round < ROUNDS; round++) {
    const heard = meter(raised(sound, gain));
    if (heard === null) return null;
    gain += loudness - heard;
  }
  return gain;
};

/** True for what has a make-up that can be matched. */
export const hasMakeUp = ({ processor }: Pick<ChainItem, 'processor'>): boolean => {
  const { parameters } = processorOf(processor);
  return parameters.makeUp?.kind === 'number' && parameters.autoMakeUp !== undefined;
};

/**
 * The constant make-up, dB, with which `item` gives out what comes in at the same integrated loudness, both over `range`
 * (the whole sound if null); its automatic make-up is taken as off. To the nearest 0.01 dB, within the parameter's range;
 * null where input or output has no loudness. Takes one render and a few readings of the meter.
 */
export const matchingMakeUp = (
  input: Audio,
  item: ChainItem,
  range: FrameRange | null,
  song: Song,
  meter: LoudnessMeter,
): number | null => {
  const within = range ?? { from: 0, to: framesOf(input) };
  const [step] = stepsOf([{ ...withMakeUp(item, 0), on: true }], song.tempo, song.meter);
  const output = renderChain(input, [{ processor: step!.processor, values: step!.values }], null);
  const loudness = meter(cut(input, within));
  const gain = loudness === null ? null : gainTo(cut(output, within), loudness, meter);
  const parameter = processorOf(item.processor).parameters.makeUp;
  if (gain === null || parameter?.kind !== 'number') return null;
  return Math.min(parameter.max, Math.max(parameter.min, Math.round(gain * GRID) / GRID));
};

/** A chain whose make-ups are matched one after the other, and what each was set to: null for all that has none. */
export interface MatchedChain {
  readonly chain: ChainItems;
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
  let sound = input;
  const makeUpDb: (number | null)[] = [];
  const matched = chain.map((item) => {
    const makeUp = item.on && hasMakeUp(item) ? matchingMakeUp(sound, item, range, song, meter) : null;
    const set = makeUp === null ? item : withMakeUp(item, makeUp);
    makeUpDb.push(makeUp);
    sound = renderChain(sound, stepsOf([set], song.tempo, song.meter), null);
    return set;
  });
  return { chain: matched, makeUpDb };
};
