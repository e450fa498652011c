import type { Random } from '../random.ts';
import type { Signal } from '../signal.ts';
import { sampleRate } from '../tempo.ts';
import { burst, ringModes } from './modes.ts';

/** One stroke on a tom tuned to `tune` Hz: gliding head note, two overtones of a round membrane, stick. */
export const strikeTom = (out: Signal, start: number, velocity: number, tune: number, random: Random): void => {
  const seconds = 0.5 + 18 / tune;
  const hz = tune * (1 + 0.005 * random.bell());
  const end = Math.min(out.length, start + Math.round(seconds * sampleRate));
  let phase = 0;
  for (let n = start; n < end; n++) {
    const t = (n - start) / sampleRate;
    phase += (2 * Math.PI * hz * (1 + 0.22 * velocity * Math.exp(-t / 0.05))) / sampleRate;
    const decay = Math.exp(-t / (9 / tune + 0.06)) * Math.min(1, (seconds - t) / 0.1);
    out[n] = out[n]! + 0.7 * velocity * Math.sin(phase) * decay * (1 - Math.exp(-t / 0.0009));
  }
  const overtones = [
    { hz: hz * 1.594, gain: 0.2, seconds: 0.28 },
    { hz: hz * 2.136, gain: 0.13, seconds: 0.2 },
    { hz: hz * 2.653, gain: 0.06, seconds: 0.12 },
  ];
  ringModes(out, start, overtones, velocity);
  burst(out, start, { gain: 0.55 * velocity ** 1.4, attack: 0.0004, decay: 0.025, lowHz: 700, highHz: 4500 }, random);
};
