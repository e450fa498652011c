import { framesOf, onBothSides, type Audio } from '../audio/audio.ts';
import { chainTail, type ChainStep } from '../dsp/core/chain.ts';
import { gainOf } from '../audio/decibels.ts';
import { haveEqualValues } from '../audio/samples.ts';
import { CLOSED_DB } from '../session/schema.ts';
import { LONGEST_TAIL_SECONDS } from './plan/make-plan.ts';
import { throughMixBus } from './mix.ts';
import { fadedOut } from './tail-fade.ts';

/** A tail below this (-120 dBFS) is cut off; the kernels state their tails to the same level. */
const SILENT = 1e-6;

/** One or two channels as two, followed by room for `tail` frames. */
const widened = (audio: Audio, tail: number): Audio => {
  const { sampleRate, channels } = onBothSides(audio);
  const longer = channels.map((channel) => {
    const copy = new Float32Array(channel.length + tail);
    copy.set(channel);
    return copy;
  });
  return { sampleRate, channels: longer };
};

/** Cuts what is silent after frame `least`, and the second channel where it repeats the only one that came in. */
const narrowed = ({ sampleRate, channels }: Audio, least: number, oneCame: boolean): Audio => {
  let end = framesOf({ sampleRate, channels });
  while (end > least && channels.every((channel) => Math.abs(channel[end - 1]!) < SILENT)) end--;
  const kept = channels.map((channel) => channel.subarray(0, end));
  return { sampleRate, channels: oneCame && haveEqualValues(kept[0]!, kept[1]!) ? kept.slice(0, 1) : kept };
};

/**
 * One or two channels run through a chain, the latency taken off, the tail kept until it is silent; one longer than 12 s fades
 * out there.
 * `blendDb`: null in series, else the level at which the chain's sound is added to the sound as it came in. One channel
 * stays one unless the chain makes a difference between left and right.
 */
export const renderChain = (audio: Audio, steps: readonly ChainStep[], blendDb: number | null): Audio => {
  const { sampleRate } = audio;
  const longest = LONGEST_TAIL_SECONDS * sampleRate;
  const wholeTail = chainTail(steps, sampleRate);
  const tail = Math.ceil(Math.min(wholeTail, longest));
  const dry = widened(audio, tail);
  const wet = throughMixBus(dry, { trimGain: 1, steps });
  if (blendDb !== null) {
    const gain = blendDb <= CLOSED_DB ? 0 : gainOf(blendDb);
    wet.channels.forEach((channel, n) => {
      const source = dry.channels[n]!;
      for (let i = 0; i < channel.length; i++) channel[i] = source[i]! + gain * channel[i]!;
    });
  }
  return narrowed(wholeTail > longest ? fadedOut(wet) : wet, framesOf(audio), audio.channels.length === 1);
};
