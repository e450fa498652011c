import type { Audio } from '../../audio/audio.ts';
import { peakOf } from '../rough/correlation.ts';
import { alignmentOf } from '../../measure/match/alignment.ts';
import { warning, type Warning } from './warning.ts';

/** One channel this far below the other (power, -60 dB) is missing. */
const MISSING = 1e-6;
/** Channels whose difference is this far below them (power, -70 dB) are one. */
const SAME = 1e-7;
/** Channels this opposite (correlation) have opposite polarity; wide sound and effects stay above. */
const OPPOSITE = -0.5;
/** A delay between the channels is told where they share nearly everything under it, and clearly more than without. */
const [SHARED, CLEARLY] = [0.8, 0.15];
/** Delays of spaced microphones and of effects are longer than this, ms. */
const LONGEST_MS = 10;

interface Sums {
  readonly left: number;
  readonly right: number;
  readonly cross: number;
  readonly difference: number;
}

const sumsOf = (left: Float32Array, right: Float32Array): Sums => {
  const sums = { left: 0, right: 0, cross: 0, difference: 0 };
  for (let n = 0; n < left.length; n++) {
    const [l, r] = [left[n]!, right[n]!];
    sums.left += l * l;
    sums.right += r * r;
    sums.cross += l * r;
    sums.difference += (l - r) ** 2;
  }
  return sums;
};

const correlationUnder = (left: Float32Array, right: Float32Array, lag: number): number => {
  let [ll, rr, lr] = [0, 0, 0];
  for (let n = Math.max(0, -lag); n < Math.min(left.length, right.length - lag); n++) {
    const [l, r] = [left[n]!, right[n + lag]!];
    ll += l * l;
    rr += r * r;
    lr += l * r;
  }
  return ll > 0 && rr > 0 ? lr / Math.sqrt(ll * rr) : 0;
};

/** So much of a file is looked at for a peak, seconds, where it is loudest. */
const EXCERPT_SECONDS = 8;
/** A peak of channels that share a part only stands out by this, and is so many times what they share with no delay. */
const [SHARP, TIMES] = [120, 2];

const loudestFrom = (channel: Float32Array, length: number): number => {
  let [most, best] = [-1, 0];
  for (let from = 0; from + length <= channel.length; from += length) {
    let sum = 0;
    for (let n = from; n < from + length; n += 4) sum += channel[n]! ** 2;
    if (sum > most) [most, best] = [sum, from];
  }
  return best;
};

/** Whether what the channels share, be it a part or low notes alone, lies at this delay and not at none. */
const isSharpAt = (left: Float32Array, right: Float32Array, lag: number, sampleRate: number): boolean => {
  const length = Math.min(left.length, Math.round(EXCERPT_SECONDS * sampleRate));
  const from = loudestFrom(left, length);
  const [a, b] = [left, right].map((channel) => channel.subarray(from, from + length)) as [Float32Array, Float32Array];
  const reach = Math.round((LONGEST_MS / 1000) * sampleRate);
  const peak = peakOf(a, b, -reach, reach);
  const none = peakOf(a, b, 0, 0);
  if (!peak || !none || Math.abs(peak.lag - lag) > 1) return false;
  return peak.polarity > 0 && peak.sharpness > SHARP && peak.sharpness > TIMES * none.sharpness;
};

/** What the two channels of a file tell of each other; nothing for one channel or a silent file. */
export const channelChecks = ({ channels, sampleRate }: Audio): Warning[] => {
  const [left, right] = channels;
  if (!left || !right || channels.length !== 2) return [];
  const sums = sumsOf(left, right);
  if (sums.left + sums.right === 0) return [];
  if (sums.left < MISSING * sums.right || sums.right < MISSING * sums.left) {
    const [missing, there] = sums.left < sums.right ? (['left', 'right'] as const) : (['right', 'left'] as const);
    const message = `Its ${missing} channel is missing: all sound is in the ${there}.`;
    const todo = `Use the ${there} channel alone, or ask for the whole track.`;
    return [warning('channel-missing', message, todo, { kind: 'channels', mode: there })];
  }
  if (sums.difference < SAME * (sums.left + sums.right)) {
    const fix = { kind: 'channels', mode: 'sum' } as const;
    const message = 'Both channels are the same: it is mono stored as stereo.';
    return [warning('mono-as-stereo', message, 'Treat it as one channel; nothing is lost.', fix, true)];
  }
  const correlation = sums.cross / Math.sqrt(sums.left * sums.right);
  if (correlation < OPPOSITE) {
    const message = `The polarity of its channels is opposite (correlation ${correlation.toFixed(2)}): in mono they cancel.`;
    return [warning('channel-polarity', message, 'Invert one channel.', { kind: 'channel polarity' })];
  }
  const lag = alignmentOf(left, right)?.lagSamples ?? 0;
  const whole = Math.round(lag);
  const ms = (1000 * Math.abs(lag)) / sampleRate;
  if (whole === 0 || ms > LONGEST_MS) return [];
  const under = correlationUnder(left, right, whole);
  const isClear = under >= SHARED && under - Math.abs(correlation) >= CLEARLY;
  if (!isClear && !isSharpAt(left, right, whole, sampleRate)) return [];
  const late = lag > 0 ? 'right' : 'left';
  const message = `Its ${late} channel is ${Math.abs(lag)} samples (${ms.toFixed(2)} ms) late against the other: in mono it sounds hollow.`;
  const fix = { kind: 'channel delay', seconds: -whole / sampleRate } as const;
  const todo = `Start the ${late} channel ${ms.toFixed(2)} ms earlier, if two microphones are not meant to be so far apart.`;
  return [warning('channel-delay', message, todo, fix)];
};
