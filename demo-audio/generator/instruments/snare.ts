import type { Random } from '../random.ts';
import type { Signal } from '../signal.ts';
import { sampleRate } from '../tempo.ts';
import { burst, ringModes } from './modes.ts';

/** Head note whose pitch settles after the stroke; the drum is tuned to about 186 Hz. */
const head = (out: Signal, start: number, velocity: number, tune: number): void => {
  let phase = 0;
  const end = Math.min(out.length, start + 0.3 * sampleRate);
  for (let n = start; n < end; n++) {
    const t = (n - start) / sampleRate;
    phase += (2 * Math.PI * (tune + 46 * velocity * Math.exp(-t / 0.011))) / sampleRate;
    const decay = Math.exp(-t / 0.042) * Math.min(1, (0.3 - t) / 0.05);
    out[n] = out[n]! + 0.62 * velocity * Math.sin(phase) * decay * (1 - Math.exp(-t / 0.0004));
  }
};

/** One stroke on the snare drum: head and shell, crack of the stick, rattle of the wires. */
export const strikeSnare = (out: Signal, start: number, velocity: number, random: Random): void => {
  const tune = 186 * (1 + 0.008 * random.bell());
  const hard = velocity ** 1.4;
  head(out, start, velocity, tune);
  const shell = [
    { hz: tune * 1.78 * (1 + 0.006 * random.bell()), gain: 0.24, seconds: 0.16 },
    { hz: tune * 2.64, gain: 0.1, seconds: 0.1 },
    { hz: 905, gain: 0.09, seconds: 0.07 },
    { hz: 1480, gain: 0.06, seconds: 0.04 },
  ];
  ringModes(out, start, shell, velocity);
  burst(out, start, { gain: 1.05 * hard, attack: 0.0002, decay: 0.04, lowHz: 1200, highHz: 7500 }, random);
  const wires = 0.13 + 0.1 * velocity;
  burst(out, start, { gain: 1.15 * hard, attack: 0.0015, decay: wires * 1.6, lowHz: 1800, highHz: 8500 }, random);
  burst(out, start, { gain: 0.5 * velocity, attack: 0.004, decay: wires * 2.4, lowHz: 900, highHz: 5000 }, random);
};

/** Side-stick: the butt of the stick on the rim, all wood and no wires. */
export const strikeRim = (out: Signal, start: number, velocity: number, random: Random): void => {
  const wood = [
    { hz: 415 * (1 + 0.01 * random.bell()), gain: 0.3, seconds: 0.07 },
    { hz: 1120 * (1 + 0.01 * random.bell()), gain: 0.34, seconds: 0.055 },
    { hz: 1735 * (1 + 0.01 * random.bell()), gain: 0.42, seconds: 0.045 },
    { hz: 2890, gain: 0.2, seconds: 0.03 },
  ];
  ringModes(out, start, wood, velocity);
  burst(out, start, { gain: 0.7 * velocity, attack: 0.0002, decay: 0.012, lowHz: 1500, highHz: 6500 }, random);
  burst(out, start, { gain: 0.06 * velocity, attack: 0.003, decay: 0.16, lowHz: 1800, highHz: 8000 }, random);
};
