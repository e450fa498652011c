import type { Random } from '../random.ts';
import type { Signal } from '../signal.ts';
import { sampleRate } from '../tempo.ts';
import { burst, ringModes } from './modes.ts';

const seconds = 0.55;

/** The head: a sine that falls from about 190 Hz to its 52 Hz resting note, rounded by the give of the skin. */
const head = (out: Signal, start: number, velocity: number, tune: number): void => {
  let phase = 0;
  const end = Math.min(out.length, start + seconds * sampleRate);
  for (let n = start; n < end; n++) {
    const t = (n - start) / sampleRate;
    const hz = tune + 105 * velocity * Math.exp(-t / 0.008) + 30 * Math.exp(-t / 0.04);
    phase += (2 * Math.PI * hz) / sampleRate;
    const decay = 0.75 * Math.exp(-t / 0.06) + 0.25 * Math.exp(-t / 0.13);
    const end60 = Math.min(1, (seconds - t) / 0.05);
    const body = Math.sin(phase) * decay * (1 - Math.exp(-t / 0.0006)) * end60;
    out[n] = out[n]! + 0.8 * velocity * Math.tanh(1.5 * body);
  }
};

/** One stroke of the bass drum: head, shell, beater knock and click. Harder strokes click more. */
export const strikeKick = (out: Signal, start: number, velocity: number, random: Random): void => {
  const tune = 52 * (1 + 0.006 * random.bell());
  head(out, start, velocity, tune);
  const shell = [
    { hz: 118 * (1 + 0.01 * random.bell()), gain: 0.1, seconds: 0.16 },
    { hz: 410, gain: 0.07, seconds: 0.05 },
    { hz: 2650, gain: 0.09, seconds: 0.014 },
  ];
  ringModes(out, start, shell, velocity);
  burst(out, start, { gain: 1.5 * velocity ** 1.6, attack: 0.0002, decay: 0.026, lowHz: 1500, highHz: 5200 }, random);
};
