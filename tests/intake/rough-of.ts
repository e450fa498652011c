import type { MadeTrack } from './multitrack.ts';
import { RATE } from './multitrack.ts';

/** How a track stands in a rough: level and place, by the equal-power law that leaves the middle at 0 dB. */
export interface Place {
  readonly gainDb: number;
  readonly pan: number;
  /** Level beside `gainDb` at a time in seconds, dB. */
  readonly ride?: (seconds: number) => number;
}

export type Stereo = [Float64Array, Float64Array];

/** The sum of the tracks in their places. */
export const sumOf = (tracks: readonly MadeTrack[], places: readonly Place[]): Stereo => {
  const frames = Math.max(...tracks.map(({ audio }) => audio.channels[0]!.length));
  const out: Stereo = [new Float64Array(frames), new Float64Array(frames)];
  tracks.forEach(({ audio }, i) => {
    const { gainDb, pan, ride } = places[i]!;
    const angle = ((pan + 1) * Math.PI) / 4;
    const gains = [Math.SQRT2 * Math.cos(angle), Math.SQRT2 * Math.sin(angle)];
    out.forEach((side, c) => {
      const from = audio.channels[c] ?? audio.channels[0]!;
      const gain = (audio.channels.length === 1 ? gains[c]! : 1) * 10 ** (gainDb / 20);
      if (ride) for (let n = 0; n < from.length; n++) side[n]! += gain * from[n]! * 10 ** (ride(n / RATE) / 20);
      else for (let n = 0; n < from.length; n++) side[n]! += gain * from[n]!;
    });
  });
  return out;
};

/** Later by `samples`, parts of one too: a Kaiser-like windowed sinc of 129 taps, good to -90 dB up to 20 kHz. */
export const delayed = (signal: Float64Array, samples: number): Float64Array => {
  const whole = Math.floor(samples);
  const part = samples - whole;
  const taps = Array.from({ length: 129 }, (_, k) => {
    const x = k - 64 - part;
    const window = Math.abs(x) < 65 ? Math.cos((Math.PI * x) / 130) ** 4 : 0;
    return (x === 0 ? 1 : Math.sin(Math.PI * x) / (Math.PI * x)) * window;
  });
  const out = new Float64Array(signal.length + Math.max(0, whole) + 64);
  for (let n = 0; n < out.length; n++) {
    const at = n - whole + 64;
    let sum = 0;
    if (part === 0) sum = signal[n - whole] ?? 0;
    // Before the beginning and behind the end there is silence.
    else
      for (let k = Math.max(0, at - signal.length + 1); k <= Math.min(128, at); k++) sum += taps[k]! * signal[at - k]!;
    out[n] = sum;
  }
  return out;
};

/** A compressor over both sides: peak detector, attack and release in seconds, hard knee (textbook, from memory). */
export const compressed = (
  [left, right]: Stereo,
  thresholdDb: number,
  ratio: number,
  attack: number,
  release: number,
): Stereo => {
  const a = Math.exp(-1 / (attack * RATE));
  const r = Math.exp(-1 / (release * RATE));
  let held = 0;
  const out: Stereo = [new Float64Array(left.length), new Float64Array(left.length)];
  for (let n = 0; n < left.length; n++) {
    const level = 20 * Math.log10(Math.max(1e-9, Math.abs(left[n]!), Math.abs(right[n]!)));
    const wanted = Math.max(0, level - thresholdDb) * (1 - 1 / ratio);
    held = wanted > held ? a * held + (1 - a) * wanted : r * held + (1 - r) * wanted;
    const gain = 10 ** (-held / 20);
    out[0][n] = gain * left[n]!;
    out[1][n] = gain * right[n]!;
  }
  return out;
};

/** A soft clip: the hyperbolic tangent at a drive, level of small signals kept. */
export const clipped = (signal: Float64Array, drive: number): Float64Array =>
  signal.map((x) => Math.tanh(drive * x) / drive);

/** High shelf of the Audio EQ Cookbook (slope 1). */
export const shelved = (signal: Float64Array, hz: number, db: number): Float64Array => {
  const A = 10 ** (db / 40);
  const w = (2 * Math.PI * hz) / RATE;
  const [c, alpha] = [Math.cos(w), (Math.sin(w) / 2) * Math.SQRT2];
  const root = 2 * Math.sqrt(A) * alpha;
  const b = [A * (A + 1 + (A - 1) * c + root), -2 * A * (A - 1 + (A + 1) * c), A * (A + 1 + (A - 1) * c - root)];
  const a = [A + 1 - (A - 1) * c + root, 2 * (A - 1 - (A + 1) * c), A + 1 - (A - 1) * c - root];
  return biquad(signal, b, a);
};

/** Bell of the Audio EQ Cookbook. */
export const belled = (signal: Float64Array, hz: number, db: number, q: number): Float64Array => {
  const A = 10 ** (db / 40);
  const w = (2 * Math.PI * hz) / RATE;
  const alpha = Math.sin(w) / (2 * q);
  const c = -2 * Math.cos(w);
  return biquad(signal, [1 + alpha * A, c, 1 - alpha * A], [1 + alpha / A, c, 1 - alpha / A]);
};

const biquad = (signal: Float64Array, b: readonly number[], a: readonly number[]): Float64Array => {
  const out = new Float64Array(signal.length);
  let [s1, s2] = [0, 0];
  for (let n = 0; n < signal.length; n++) {
    const x = signal[n]!;
    const y = (b[0]! * x) / a[0]! + s1;
    s1 = (b[1]! * x) / a[0]! - (a[1]! * y) / a[0]! + s2;
    s2 = (b[2]! * x) / a[0]! - (a[2]! * y) / a[0]!;
    out[n] = y;
  }
  return out;
};

export const singles = (signals: readonly Float64Array[]): Float32Array[] =>
  signals.map((each) => Float32Array.from(each));
