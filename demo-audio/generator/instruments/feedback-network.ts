import { sampleRate } from '../tempo.ts';
import type { Signal } from '../signal.ts';

/** Delay lengths in ms at size 1, mutually prime-ish so that echoes do not pile up. */
const linesMs = [29.71, 33.37, 37.13, 41.09, 43.61, 47.93, 53.27, 59.69];

/**
 * Late reverberation of a mono `input`: eight delay lines fed back through a Hadamard mix (Jot and Chaigne 1991).
 * `seconds` is T60 at low frequencies, `dampingHz` where the loop begins to lose treble. Returns left and right.
 */
export const reverberate = (
  input: Signal,
  { seconds, dampingHz, size }: { seconds: number; dampingHz: number; size: number },
): [Signal, Signal] => {
  const lines = linesMs.map((ms) => new Float64Array(Math.round((ms * size * sampleRate) / 1000)));
  const heads = new Int32Array(8);
  const gains = lines.map((line) => 10 ** ((-3 * line.length) / (seconds * sampleRate)));
  const damp = 1 - Math.exp((-2 * Math.PI * dampingHz) / sampleRate);
  const lost = new Float64Array(8);
  const x = new Float64Array(8);
  const left = new Float32Array(input.length);
  const right = new Float32Array(input.length);
  for (let n = 0; n < input.length; n++) {
    for (let i = 0; i < 8; i++) {
      lost[i] = lost[i]! + damp * (lines[i]![heads[i]!]! - lost[i]!);
      x[i] = lost[i]! * gains[i]!;
    }
    left[n] = 0.5 * (x[0]! - x[2]! + x[4]! - x[6]!);
    right[n] = 0.5 * (x[1]! - x[3]! + x[5]! - x[7]!);
    hadamard(x);
    const drive = input[n]!;
    for (let i = 0; i < 8; i++) {
      lines[i]![heads[i]!] = x[i]! + (i % 3 === 1 ? -drive : drive);
      heads[i] = (heads[i]! + 1) % lines[i]!.length;
    }
  }
  return [left, right];
};

/** Orthonormal 8-point Hadamard transform in place: mixes all lines and keeps their energy. */
const hadamard = (x: Float64Array): void => {
  for (let span = 1; span < 8; span *= 2) {
    for (let i = 0; i < 8; i++) {
      if (i & span) continue;
      const a = x[i]!;
      const b = x[i + span]!;
      x[i] = (a + b) * Math.SQRT1_2;
      x[i + span] = (a - b) * Math.SQRT1_2;
    }
  }
};
