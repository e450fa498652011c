import { BandKeeper } from '../../src/blend/gram/band-keeper.ts';
import {
  GramQuery,
  makeBlendQuery,
  renewedTimeSteps,
  withPath,
  type QueryPath,
} from '../../src/blend/gram/make-blend-query.ts';
import type { Audio } from '../../src/audio/audio.ts';
import { finished } from '../../src/audio/steps.ts';
import { measure } from '../../src/measure/measure.ts';
import { truePeakOf } from '../../src/measure/peaks/true-peak.ts';

/** What the bench of blends runs, and the sound that it runs on. */

const RATE = 48_000;

/** One invented path: a decaying tone and noise in beats, with pauses; other `which`, other sound. Always the same. */
export function path(which: number, seconds: number): QueryPath<Audio> {
  const frames = RATE * seconds;
  const left = new Float32Array(frames);
  const right = new Float32Array(frames);
  let state = which * 7919 + 1;
  const random = (): number => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state / 2 ** 31 - 1;
  };
  const dull = 0.02 + 0.5 * ((which * 0.37) % 1);
  const beat = Math.round(RATE * (0.25 + 0.25 * (which % 4)));
  const decay = 3 + 12 * ((which * 0.61) % 1);
  const angle = (2 * Math.PI * (50 + 70 * which)) / RATE;
  const place = (which * 0.73) % 1;
  // Tone and decay go on from sample to sample: a sine and a power for each would take longer than all that is timed.
  const [turnRe, turnIm] = [Math.cos(angle), Math.sin(angle)];
  const fall = Math.exp(-decay / RATE);
  let [toneRe, toneIm] = [1, 0];
  let phase = (977 * which) % beat;
  let envelope = Math.exp((-decay * phase) / RATE);
  let [a, b, c, d] = [0, 0, 0, 0];
  for (let n = 0; n < frames; n++, phase++) {
    if (phase === beat) [phase, envelope] = [0, 1];
    const level = envelope * ((Math.floor(n / (RATE * 20)) + which) % 5 === 0 ? 0.05 : 1);
    a += dull * (random() - a);
    b += dull * (random() - b);
    c += dull * (a - c);
    d += dull * (b - d);
    left[n] = level * (0.3 * c + 0.2 * toneIm) * (1 - 0.6 * place);
    right[n] = level * (0.3 * d + 0.2 * toneIm) * (0.4 + 0.6 * place);
    const re = toneRe * turnRe - toneIm * turnIm;
    toneIm = toneRe * turnIm + toneIm * turnRe;
    toneRe = re;
    envelope *= fall;
  }
  return { id: `path-${which}`, audio: { sampleRate: RATE, channels: [left, right] } };
}

/** The paths times their gains, summed as a render does. */
export function summed(paths: readonly QueryPath<Audio>[], gains: readonly number[]): Audio {
  const frames = paths[0]!.audio.channels[0]!.length;
  const channels = [0, 1].map((channel) => {
    const sum = new Float64Array(frames);
    paths.forEach(({ audio }, p) => addTo(sum, audio.channels[channel]!, gains[p]!));
    return new Float32Array(sum);
  });
  return { sampleRate: RATE, channels };
}

function addTo(sum: Float64Array, samples: Float32Array, gain: number): void {
  for (let n = 0; n < sum.length; n++) sum[n]! += gain * samples[n]!;
}

/** Gains that differ with every turn: mostly in phase, every fifth path inverted. */
export const gainsOf = (count: number, turn: number): number[] =>
  Array.from(
    { length: count },
    (_, p) => (p % 5 === 4 ? -1 : 1) * (0.3 + 0.7 * ((p * 0.43) % 1)) * (1 + 0.01 * ((turn * (p + 3)) % 17)),
  );

export { BandKeeper, finished, GramQuery, makeBlendQuery, measure, renewedTimeSteps, truePeakOf, withPath };
