import type { Audio } from '../../audio/audio.ts';
import { median } from '../rough/median.ts';
import { greatestIn, peakOf, secondsText } from './sample-tools.ts';
import { warning, type Warning } from './warning.ts';

// Limits in this file are common practice, set so that ordinary tracks raise nothing.

/** Samples that were lost stand at 0, or at the dither of 24 bits. */
const LOST = 1e-6;
/** Runs of these this long (samples; seconds at most) with sound on both sides are dropped samples. */
const SHORTEST_GAP = 12;
const LONGEST_GAP = 0.25;
/** Sound: this part of the channel's greatest sample, within so many samples before and after. */
const [BESIDE_GAP, BESIDE] = [0.02, 24];
/** What was cut is as strong in the last so many samples as in more of them: this part of their greatest value, or of their greatest step. */
const [EDGE, EDGE_CONTEXT, CUT] = [14, 200, 0.33];

/** So many gaps, most of whose spacings are multiples of one no shorter than this, seconds, within so much, are rests of what is played. */
const [LEAST_RESTS, SHORTEST_BEAT, ON_BEAT, MOST] = [4, 0.06, 0.002, 0.8];
/** Parts of the shortest spacing that may be the beat. */
const PARTS = [1, 2, 3, 4];

/** A spike stands this part of the channel's greatest sample above the line between its neighbours. */
const SPIKE = 0.2;
/** And so many times above what the samples around it do. */
const ALONE = 12;
const AROUND = 24;

/** So many places, this evenly spaced (part of the spacing) and at least so many a second, are the form of a wave. */
const [LEAST_WAVES, EVEN, LOWEST_HZ] = [8, 0.03, 25];

/** Faults nearer than this in both channels are one, seconds. */
const ONE_FAULT = 0.01;

const spacingsOf = (places: readonly number[]): number[] => places.slice(1).map((place, n) => place - places[n]!);

/** Whether places come as evenly as the periods of a note: then they are the form of a pulse wave and no faults. */
const areWave = (places: readonly number[], sampleRate: number): boolean => {
  const spacings = spacingsOf(places);
  if (spacings.length < LEAST_WAVES) return false;
  const middle = median(spacings);
  const even = spacings.filter((spacing) => Math.abs(spacing - middle) <= 1 + EVEN * middle);
  return middle < sampleRate / LOWEST_HZ && even.length > 0.8 * spacings.length;
};

/** Whether places lie on a beat: notes that are gated stop and begin there. Lost samples come when they come. */
const areOnBeat = (places: readonly number[], sampleRate: number): boolean => {
  const spacings = spacingsOf(places).map((spacing) => spacing / sampleRate);
  if (spacings.length + 1 < LEAST_RESTS) return false;
  const least = Math.min(...spacings);
  return PARTS.some((part) => {
    const beat = least / part;
    if (beat < SHORTEST_BEAT) return false;
    const on = spacings.filter((spacing) => Math.abs(spacing - beat * Math.round(spacing / beat)) < ON_BEAT);
    return on.length >= MOST * spacings.length;
  });
};

/** The greatest step between neighbours among samples from..to-1 of a channel. */
const greatestStep = (channel: Float32Array, from: number, to: number): number => {
  let most = 0;
  for (let n = Math.max(1, from); n < Math.min(channel.length, to); n++)
    most = Math.max(most, Math.abs(channel[n]! - channel[n - 1]!));
  return most;
};

/** Whether the sound is cut at a gap from..to-1: as strong beside it as further away. What is faded out and in is weaker there. */
const isCut = (channel: Float32Array, from: number, to: number): boolean =>
  (
    [
      [from - EDGE, from, from - EDGE_CONTEXT, from],
      [to, to + EDGE, to, to + EDGE_CONTEXT],
    ] as const
  ).every(([near, nearEnd, far, farEnd]) => {
    const level = greatestIn(channel, near, nearEnd) / Math.max(1e-9, greatestIn(channel, far, farEnd));
    const step = greatestStep(channel, near + 1, nearEnd) / Math.max(1e-9, greatestStep(channel, far + 1, farEnd));
    return Math.max(level, step) > CUT;
  });

/** Samples from..to-1 that are lost. */
interface Gap {
  readonly from: number;
  readonly to: number;
}

interface Faults {
  readonly gaps: readonly Gap[];
  readonly spikes: readonly number[];
}

const faultsOf = (channel: Float32Array, sampleRate: number): Faults => {
  const peak = peakOf(channel);
  const gaps: Gap[] = [];
  const spikes: number[] = [];
  let run = 0;
  for (let n = 1; n + 1 < channel.length; n++) {
    const value = channel[n]!;
    if (Math.abs(value) < LOST) run++;
    else {
      const isGap = run >= SHORTEST_GAP && run < LONGEST_GAP * sampleRate && run < n;
      const from = n - run;
      if (
        isGap &&
        Math.min(greatestIn(channel, from - BESIDE, from), greatestIn(channel, n, n + BESIDE)) > BESIDE_GAP * peak
      )
        gaps.push({ from, to: n });
      run = 0;
    }
    const [before, after] = [value - channel[n - 1]!, value - channel[n + 1]!];
    const rise = Math.abs(before + after) / 2;
    // At a step, as in a square wave, a sample stands off from one neighbour only.
    const isAlone = Math.min(Math.abs(before), Math.abs(after)) > rise / 2;
    if (isAlone && rise > SPIKE * peak && rise > ALONE * bendAround(channel, n)) spikes.push(n);
  }
  const starts = gaps.map(({ from }) => from);
  const arePlayed = [starts, gaps.map(({ to }) => to)].some((places) => areOnBeat(places, sampleRate));
  const inWave = areWave(starts, sampleRate) ? 2 * median(gaps.map(({ from, to }) => to - from)) : 0;
  return {
    gaps: arePlayed ? [] : gaps.filter(({ from, to }) => to - from >= inWave && isCut(channel, from, to)),
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

/** "3 ms", "3 to 41 ms". */
const gapWords = (gaps: readonly Gap[], sampleRate: number): string => {
  const ms = gaps.map(({ from, to }) => Math.max(1, Math.round((1000 * (to - from)) / sampleRate)));
  const [least, most] = [Math.min(...ms), Math.max(...ms)];
  return least === most ? `${most} ms` : `${least} to ${most} ms`;
};

/** Lost samples and clicks. */
export const faultChecks = ({ channels, sampleRate }: Audio): Warning[] => {
  const found = channels.map((channel) => faultsOf(channel, sampleRate));
  const first = (places: readonly number[]): string => secondsText(Math.min(...places) / sampleRate);
  const times = (places: readonly number[], one: string, more: string): string => {
    const count = new Set(places.map((place) => Math.round(place / sampleRate / ONE_FAULT))).size;
    return `${count} ${count === 1 ? one : more}`;
  };
  const gaps = found.flatMap((each) => each.gaps);
  const starts = gaps.map(({ from }) => from);
  const spikes = found.flatMap((each) => each.spikes);
  return [
    ...(gaps.length > 0
      ? [
          warning(
            'dropout',
            `The sound stops dead and goes on ${times(starts, 'time', 'times')}, first at ${first(starts)}, for ${gapWords(gaps, sampleRate)}: samples may be lost, if it was not gated or cut so on purpose.`,
            'Listen there; if it is a fault, ask for the track again, recorded or exported anew.',
          ),
        ]
      : []),
    ...(spikes.length > 0
      ? [
          warning(
            'clicks',
            `It has ${times(spikes, 'click', 'clicks')} of single samples, the first at ${first(spikes)}.`,
            'Listen there, and have it repaired before mixing.',
          ),
        ]
      : []),
  ];
};
