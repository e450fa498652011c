import { decibelsOf } from '../../audio/decibels.ts';
import { framesOf, type Audio } from '../../audio/audio.ts';
import { steadyOffset } from '../steady-offset.ts';
import { faultChecks } from './fault-checks.ts';
import { peakOf, secondsText } from './sample-tools.ts';
import { warning, type Warning } from './warning.ts';

// Limits in this file are common practice, set so that ordinary tracks raise nothing.

const db = (gain: number): string => decibelsOf(gain).toFixed(1);

/** A clipped run: so many successive samples at one value, within this part of the channel's greatest on their side. */
const [RUN, AT_TOP] = [3, 0.98];
/** The step into or out of the run is greater than this part of the greatest: the top of a slow wave is flat too. */
const STEP = 0.004;
/** Where the steps on both sides are this part of the greatest, the run is the top of a square wave. */
const SQUARE = 0.9;
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
  let [runs, first, squares] = [0, -1, 0];
  for (let n = 1; n < channel.length;) {
    const value = channel[n]!;
    const top = value > 0 ? high : low;
    if (top === 0 || value / top < AT_TOP) {
      n++;
      continue;
    }
    let end = n + 1;
    while (end < channel.length && channel[end] === value) end++;
    const steps = [Math.abs(value - channel[n - 1]!), Math.abs(value - (channel[end] ?? value))];
    const step = Math.max(...steps);
    const isSquare = Math.min(...steps) > SQUARE * Math.abs(top);
    const isLong = end - n >= LONG_RUN && Math.abs(top) >= HALF;
    if (end - n >= RUN && isSquare) squares++;
    else if (end - n >= RUN && (isLong || step > STEP * Math.abs(top))) {
      runs++;
      if (first < 0) first = n;
    }
    n = end;
  }
  // The first and the last tops of a note of a square wave have a step on one side only.
  return squares > runs ? { runs: 0, first: -1 } : { runs, first };
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
      `It is clipped: ${runs} peaks are cut flat at ${level} dBFS, the first at ${secondsText(first)}.`,
      'Ask for the track before it was clipped, recorded or exported at a lower level.',
    ),
  ];
};

/** A constant part is told from this size on (-66 dBFS), where it is the same nearly everywhere. */
const LEAST_DC = 5e-4;

const dcOffset = ({ channels, sampleRate }: Audio): Warning[] => {
  const constants = channels.map((channel) => steadyOffset(channel, sampleRate));
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

/** The first or last sample of a file that begins or ends in silence is below this part of its greatest. */
const EDGE = 0.05;
/** What lies within so many seconds of the edge is as loud as this part of the loudest such stretch. */
const EDGE_SECONDS = 0.02;
const EDGE_LOUD = 0.1;
/** A switch fades within this, seconds: so far from a cut edge it is thrown. */
const FADE_SECONDS = 0.01;

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
            'Ask for the track from bar 1, or with its head; until then a short fade takes the click away.',
            { kind: 'trim', from: FADE_SECONDS, to: null },
          ),
        ]
      : []),
    ...(cut.some(({ tail }) => tail)
      ? [
          warning(
            'tail-cut',
            'It ends in the middle of a sound: its tail is cut off.',
            'Ask for the track with its tail; until then a short fade takes the click away.',
            { kind: 'trim', from: null, to: Math.max(0, framesOf(audio) / audio.sampleRate - 2 * FADE_SECONDS) },
          ),
        ]
      : []),
  ];
};

const withoutMean = ({ sampleRate, channels }: Audio): Audio => ({
  sampleRate,
  channels: channels.map((channel) => {
    const mean = channel.reduce((sum, value) => sum + value, 0) / channel.length;
    return channel.map((value) => value - mean);
  }),
});

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
  const offset = dcOffset(audio);
  // A constant at its ends is no sound that was cut off.
  const moving = offset.length > 0 ? withoutMean(audio) : audio;
  return [...clipping(audio), ...offset, ...faultChecks(audio), ...edges(moving)];
};
