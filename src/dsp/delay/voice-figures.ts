import { type Arrival, arrivalBeside, SPREAD } from '../core/arrival.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { HIGH_CUT_OFF, LOW_CUT_OFF } from '../filters/cut-filters.ts';
import { onePoleTail } from '../filters/one-pole.ts';
import { VOICE_FRAMES, voiceDelay } from './voice.ts';
import type { VoiceSettings } from './voice-bank.ts';
import { wetDryGains } from '../core/wet-dry.ts';

/** Level at which a tail ends; 12 dB are reserved for peaks raised by correlated copies and the cuts. */
const TAIL_DB = 132;

/** Tail of a bank whose voices move by up to `movement` samples, samples: again for every pass of the feedback. */
export const voiceTail = (settings: VoiceSettings, movement: number, sampleRate: number): number => {
  const { count, delays, feedback, lowCut, highCut, mix } = settings;
  if (mix === 0) return 0;
  const passes = 1 + (feedback > 0 ? Math.ceil(-TAIL_DB / decibelsOf(feedback)) : 0);
  const pass = Math.max(...delays.slice(0, count).map(voiceDelay)) + Math.ceil(movement) + VOICE_FRAMES;
  const lowTail = lowCut > LOW_CUT_OFF ? onePoleTail(lowCut, passes === 1 ? TAIL_DB : 2 * TAIL_DB, sampleRate) : 0;
  const highTail = highCut < HIGH_CUT_OFF ? onePoleTail(highCut, TAIL_DB, sampleRate) : 0;
  return passes * pass + lowTail + highTail;
};

/** One copy that stands still is late; several, or one that moves, are spread. */
export const voiceArrival = ({ count, delays, mix }: VoiceSettings, movement: number): Arrival => {
  const isOne = count === 1 && movement === 0;
  const copies = isOne ? { lagSamples: voiceDelay(delays[0]!), polarity: 1 as const } : SPREAD;
  return arrivalBeside(copies, { wet: mix, law: 'linear' });
};

/** Level of one voice, dB. */
export const voiceLevel = ({ count, mix }: VoiceSettings, floorDb: number): number =>
  Math.max(floorDb, decibelsOf(wetDryGains({ wet: mix, law: 'equal power' }).wet / Math.sqrt(count)));

/** The sound itself, then each voice as the two ends of its movement, feedback and cuts not counted: [seconds, dB]. */
export const voiceStems = (
  { count, delays, mix }: VoiceSettings,
  movement: number,
  floorDb: number,
  sampleRate: number,
): readonly (readonly [number, number])[] => {
  const stem = (samples: number, gain: number) => [samples / sampleRate, Math.max(floorDb, decibelsOf(gain))] as const;
  const { wet: share, dry } = wetDryGains({ wet: mix, law: 'equal power' });
  const wet = share / Math.sqrt(count);
  const ends = delays.slice(0, count).flatMap((delay) => [delay, delay + movement]);
  return [stem(0, dry), ...ends.sort((a, b) => a - b).map((samples) => stem(samples, wet))];
};
