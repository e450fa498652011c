import { filter, highpass } from '../filters.ts';
import { randomFrom } from '../random.ts';
import { slots } from '../score/harmony.ts';
import type { Signal } from '../signal.ts';
import { silence } from '../signal.ts';
import { bars, frameAt, hzOf, sampleRate, secondsAt, songFrames } from '../tempo.ts';

/** The pad enters with the lift. */
const firstBar = 4;
const attack = 0.42;
const release = 0.6;

/** Rounds the step of a sawtooth over two samples, so that it does not alias (Valimaki and Huovilainen 2007). */
const roundedStep = (phase: number, step: number): number => {
  if (phase < step) {
    const x = phase / step - 1;
    return -x * x;
  }
  if (phase > 1 - step) {
    const x = (phase - 1) / step + 1;
    return x * x;
  }
  return 0;
};

/** Adds one sawtooth voice with a slow swell and a slow fall. */
const saw = (out: Signal, from: number, to: number, hz: number, gain: number, startPhase: number): void => {
  const step = hz / sampleRate;
  const rise = attack * sampleRate;
  const fall = release * sampleRate;
  const end = Math.min(out.length, Math.round(to + fall));
  let phase = startPhase;
  for (let n = from; n < end; n++) {
    const up = Math.min(1, (n - from) / rise);
    const down = Math.min(1, (end - n) / fall);
    out[n] =
      out[n]! +
      gain * up * up * (3 - 2 * up) * down * down * (3 - 2 * down) * (2 * phase - 1 - roundedStep(phase, step));
    phase += step;
    if (phase >= 1) phase -= 1;
  }
};

/** Low-pass whose corner opens over the lift and breathes in the chorus (state-variable, trapezoidal; Zavalishin 2012). */
const sweepFilter = (signal: Signal, offset: number): void => {
  const lift = frameAt(secondsAt(firstBar, 0));
  const chorus = frameAt(secondsAt(8, 0));
  let s1 = 0;
  let s2 = 0;
  let g = 0;
  const k = 1.1;
  for (let n = lift - frameAt(0.1); n < signal.length; n++) {
    if (n % 64 === 0) {
      const open = Math.min(1, Math.max(0, (n - lift) / (chorus - lift)));
      const breath = Math.sin((2 * Math.PI * 0.13 * n) / sampleRate + offset);
      g = Math.tan((Math.PI * (520 + 1500 * open ** 1.6 + 180 * breath)) / sampleRate);
    }
    const high = (signal[n]! - (k + g) * s1 - s2) / (1 + g * (g + k));
    const band = g * high + s1;
    const low = g * band + s2;
    s1 = g * high + band;
    s2 = g * band + low;
    signal[n] = low;
  }
};

/** Stereo string-like pad: every note is two detuned voices a side, different on each side. */
export const playPad = (): [Signal, Signal] => {
  const random = randomFrom('pad');
  const sides: [Signal, Signal] = [silence(), silence()];
  slots.forEach(({ bar, beat, chord }, i) => {
    if (bar < firstBar) return;
    const next = slots[i + 1];
    const from = frameAt(secondsAt(bar, beat)) - frameAt(0.08);
    const to = Math.min(songFrames, frameAt(secondsAt(next?.bar ?? bars, next?.beat ?? 0)) - frameAt(0.3));
    chord.pad.forEach((midi) =>
      sides.forEach((side) => {
        for (const cents of [-6, 5]) {
          const hz = hzOf(midi + (cents + 2.5 * random.bell()) / 100);
          saw(side, from, to, hz, 0.06 * (1 + 0.15 * random.bell()), random.next());
        }
      }),
    );
  });
  sides.forEach((side, i) => {
    sweepFilter(side, i * 1.9);
    filter(side, highpass(140));
  });
  return sides;
};
