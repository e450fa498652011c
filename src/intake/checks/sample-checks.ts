import { decibelsOf } from '../../audio/decibels.ts';
import { framesOf, type Audio } from '../../audio/audio.ts';
import { median, quantile } from '../rough/median.ts';
import { warning, type Warning } from './warning.ts';

// Limits in this file are common practice, set so that ordinary tracks raise nothing.

const seconds = (value: number): string => `${value.toFixed(value < 10 ? 2 : 1)} s`;
const db = (gain: number): string => decibelsOf(gain).toFixed(1);
const times = (count: number, one: string, more: string): string => `${count} ${count === 1 ? one : more}`;

const peakOf = (channel: Float32Array): number => {
  let peak = 0;
  for (let n = 0; n < channel.length; n++) peak = Math.max(peak, Math.abs(channel[n]!));
  return peak;
};

/** A clipped run: so many successive samples at one value, within this part of the channel's greatest on their side. */
const [RUN, AT_TOP] = [3, 0.98];
/** The step into or out of the run is greater than this part of the greatest: the top of a slow wave is flat too. */
const STEP = 0.004;
/**
 * So many equal samples above half of full scale are no top of a wave either, however slow: with 16 bits the top of 20 Hz is flat for 8 at
 * 48 kHz (a sine's top falls by its curvature, (2 pi f n)^2 / 8 of its peak over n samples).
 */
const LONG_RUN = 16;
const HALF = 0.5;
/** Fewer runs than this are not told. */
const LEAST_RUNS = 3;

/** Flat tops of one channel. */
const clippedRuns = (channel: Float32Array): { readonly runs: number; readonly first: number } => {
  let [high, low] = [0, 0];
  for (let n = 0; n < channel.length; n++) {
    high = Math.max(high, channel[n]!);
    low = Math.min(low, channel[n]!);
  }
  let [runs, first] = [0, -1];
  for (let n = 1; n < channel.length;) {
    const value = channel[n]!;
    const top = value > 0 ? high : low;
    if (top === 0 || value / top < AT_TOP) {
      n++;
      continue;
    }
    let end = n + 1;
    while (end < channel.length && channel[end] === value) end++;
    const step = Math.max(Math.abs(value - channel[n - 1]!), Math.abs(value - (channel[end] ?? value)));
    const isLong = end - n >= LONG_RUN && Math.abs(top) >= HALF;
    if (end - n >= RUN && (isLong || step > STEP * Math.abs(top))) {
      runs++;
      if (first < 0) first = n;
    }
    n = end;
  }
  return { runs, first };
};

const clipping = ({ channels, sampleRate }: Audio): Warning[] => {
  const found = channels.map(clippedRuns);
  const runs = found.reduce((sum, each) => sum + each.runs, 0);
  if (runs < LEAST_RUNS) return [];
  const first = Math.min(...found.flatMap((each) => (each.first < 0 ? [] : [each.first]))) / sampleRate;
  const level = db(Math.max(...channels.map(peakOf)));
  return [
    warning(
      'clipped',
      `It is clipped: ${runs} peaks are cut flat at ${level} dBFS, the first at ${seconds(first)}.`,
      'Ask for the track before it was clipped, recorded or exported at a lower level.',
    ),
  ];
};

/** A constant part is told from this size on (-66 dBFS), where it is the same nearly everywhere. */
const LEAST_DC = 5e-4;
const DC_BLOCK = 0.2;

/** The mean of each block of a channel. */
const blockMeans = (channel: Float32Array, length: number): number[] => {
  const means: number[] = [];
  for (let from = 0; from + length <= channel.length; from += length) {
    let sum = 0;
    for (let n = from; n < from + length; n++) sum += channel[n]!;
    means.push(sum / length);
  }
  return means;
};

const dcOffset = ({ channels, sampleRate }: Audio): Warning[] => {
  const constants = channels.map((channel) => {
    const means = blockMeans(channel, Math.round(DC_BLOCK * sampleRate));
    if (means.length < 3) return 0;
    const [low, middle, high] = [0.1, 0.5, 0.9].map((part) => quantile(means, part)) as [number, number, number];
    // Tails of drums and notes lean to one side for a while; a fault is there all the time.
    const steady = Math.sign(low) === Math.sign(high) && Math.min(Math.abs(low), Math.abs(high)) > Math.abs(middle) / 3;
    return steady ? middle : 0;
  });
  const worst = constants.reduce((most, each) => (Math.abs(each) > Math.abs(most) ? each : most), 0);
  if (Math.abs(worst) < LEAST_DC) return [];
  return [
    warning(
      'dc-offset',
      `It has a DC offset of ${(100 * worst).toFixed(2)} % of full scale (${db(Math.abs(worst))} dBFS), which takes headroom and clicks at cuts.`,
      'Cut below 10 Hz.',
      { kind: 'low cut', hz: 10 },
      true,
    ),
  ];
};

/** Samples that were lost stand at 0, or at the dither of 24 bits. */
const LOST = 1e-6;
/** Runs of these this long (samples; seconds at most) with sound on both sides are dropped samples. */
const SHORTEST_GAP = 12;
const LONGEST_GAP = 0.25;
/** Sound: this part of the channel's greatest sample, within so many samples before and after. */
const [BESIDE_GAP, BESIDE] = [0.02, 24];

/** A spike stands this part of the channel's greatest sample above the line between its neighbours. */
const SPIKE = 0.2;
/** And so many times above what the samples around it do. */
const ALONE = 12;
const AROUND = 24;

/** So many places, this evenly spaced (part of the spacing) and at least so many a second, are the form of a wave. */
const [LEAST_WAVES, EVEN, LOWEST_HZ] = [8, 0.03, 25];

/** Whether places come as evenly as the periods of a note: then they are the form of a pulse wave and no faults. */
const areWave = (places: readonly number[], sampleRate: number): boolean => {
  const spacings = places.slice(1).map((place, n) => place - places[n]!);
  if (spacings.length < LEAST_WAVES) return false;
  const middle = median(spacings);
  const even = spacings.filter((spacing) => Math.abs(spacing - middle) <= 1 + EVEN * middle);
  return middle < sampleRate / LOWEST_HZ && even.length > 0.8 * spacings.length;
};

interface Faults {
  readonly gaps: readonly number[];
  readonly spikes: readonly number[];
}

const greatest = (channel: Float32Array, from: number, to: number): number => {
  let most = 0;
  for (let n = Math.max(0, from); n < Math.min(channel.length, to); n++) most = Math.max(most, Math.abs(channel[n]!));
  return most;
};

const faultsOf = (channel: Float32Array, sampleRate: number): Faults => {
  const peak = peakOf(channel);
  const gaps: number[] = [];
  const lengths: number[] = [];
  const spikes: number[] = [];
  let run = 0;
  for (let n = 1; n + 1 < channel.length; n++) {
    const value = channel[n]!;
    if (Math.abs(value) < LOST) run++;
    else {
      const isGap = run >= SHORTEST_GAP && run < LONGEST_GAP * sampleRate && run < n;
      if (
        isGap &&
        Math.min(greatest(channel, n - run - BESIDE, n - run), greatest(channel, n, n + BESIDE)) > BESIDE_GAP * peak
      ) {
        gaps.push(n - run);
        lengths.push(run);
      }
      run = 0;
    }
    const [before, after] = [value - channel[n - 1]!, value - channel[n + 1]!];
    const rise = Math.abs(before + after) / 2;
    // At a step, as in a square wave, a sample stands off from one neighbour only.
    const isAlone = Math.min(Math.abs(before), Math.abs(after)) > rise / 2;
    if (isAlone && rise > SPIKE * peak && rise > ALONE * bendAround(channel, n)) spikes.push(n);
  }
  const inWave = areWave(gaps, sampleRate) ? 2 * median(lengths) : 0;
  return {
    gaps: gaps.filter((_, n) => lengths[n]! >= inWave),
    spikes: areWave(spikes, sampleRate) ? [] : spikes,
  };
};

/** The greatest bend of a channel around place `n`, the samples that touch it left out. */
const bendAround = (channel: Float32Array, n: number): number => {
  let most = 0;
  for (let at = Math.max(1, n - AROUND); at < Math.min(channel.length - 1, n + AROUND); at++) {
    if (Math.abs(at - n) < 2) continue;
    most = Math.max(most, Math.abs(channel[at]! - (channel[at - 1]! + channel[at + 1]!) / 2));
  }
  return most;
};

const faults = ({ channels, sampleRate }: Audio): Warning[] => {
  const found = channels.map((channel) => faultsOf(channel, sampleRate));
  const at = (places: readonly number[]): string => seconds(Math.min(...places) / sampleRate);
  const gaps = found.flatMap((each) => each.gaps);
  const spikes = found.flatMap((each) => each.spikes);
  return [
    ...(gaps.length > 0
      ? [
          warning(
            'dropout',
            `The sound stops dead inside a note ${times(gaps.length, 'time', 'times')}, first at ${at(gaps)}: samples were lost.`,
            'Ask for the track again, recorded or exported anew.',
          ),
        ]
      : []),
    ...(spikes.length > 0
      ? [
          warning(
            'clicks',
            `It has ${times(spikes.length, 'click', 'clicks')} of single samples, the first at ${at(spikes)}.`,
            'Listen there, and have it repaired before mixing.',
          ),
        ]
      : []),
  ];
};

/** The first or last sample of a file that begins or ends in silence is below this part of its greatest. */
const EDGE = 0.05;
/** What lies within so many seconds of the edge is as loud as this part of the loudest such stretch. */
const EDGE_SECONDS = 0.02;
const EDGE_LOUD = 0.1;

const rmsOf = (channel: Float32Array, from: number, to: number): number => {
  let sum = 0;
  for (let n = from; n < to; n++) sum += channel[n]! ** 2;
  return Math.sqrt(sum / Math.max(1, to - from));
};

const loudest = (channel: Float32Array, length: number): number => {
  let most = 0;
  for (let from = 0; from + length <= channel.length; from += length)
    most = Math.max(most, rmsOf(channel, from, from + length));
  return most;
};

const edges = (audio: Audio): Warning[] => {
  const length = Math.min(framesOf(audio), Math.round(EDGE_SECONDS * audio.sampleRate));
  const cut = audio.channels.map((channel) => {
    const [peak, loud] = [peakOf(channel), loudest(channel, length)];
    const isLoud = (from: number): boolean => rmsOf(channel, from, from + length) > EDGE_LOUD * loud;
    const end = channel.length;
    return {
      head: Math.abs(channel[0]!) > EDGE * peak && isLoud(0),
      tail:
        Math.max(Math.abs(channel[end - 1]!), Math.abs(channel[end - 2] ?? 0)) > EDGE * peak && isLoud(end - length),
    };
  });
  return [
    ...(cut.some(({ head }) => head)
      ? [
          warning(
            'head-cut',
            'It begins in the middle of a sound: its head is cut off.',
            'Ask for the track from bar 1, or with its head.',
          ),
        ]
      : []),
    ...(cut.some(({ tail }) => tail)
      ? [
          warning(
            'tail-cut',
            'It ends in the middle of a sound: its tail is cut off.',
            'Ask for the track with its tail, or fade it out.',
          ),
        ]
      : []),
  ];
};

/** Below this the whole file is silence, linear (-80 dBFS). */
export const SILENCE = 1e-4;

/** What the samples of one file tell by themselves. A silent file tells nothing but that. */
export const sampleChecks = (audio: Audio): Warning[] => {
  const peak = Math.max(...audio.channels.map(peakOf));
  if (peak < SILENCE) {
    const what =
      peak === 0
        ? 'It is silent: every sample is 0.'
        : `It is all but silent: its greatest sample is at ${db(peak)} dBFS.`;
    return [warning('silent', what, 'Leave it out, or ask what should be in it.', { kind: 'leave out' }, true)];
  }
  return [...clipping(audio), ...dcOffset(audio), ...faults(audio), ...edges(audio)];
};
