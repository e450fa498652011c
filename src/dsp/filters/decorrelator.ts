import { CONTROL_FRAMES } from '../core/processor.ts';
import { Ring } from '../core/ring.ts';

/**
 * Pulses of the later half: [samples at 48 kHz from the middle, gain]. Found by descent from random starts, for V^2 near 1 at each
 * frequency from 150 Hz to 19 kHz and in each third of an octave, V as often above as below 0 in each octave, next to
 * nothing below 110 Hz, and small outer pulses; scaled so that V^2 is 1 on average over pink noise above 300 Hz.
 */
const PULSES: readonly (readonly [number, number])[] = [
  [3, 0.048],
  [5, 0.2192],
  [6, -0.2209],
  [14, 0.1457],
  [25, -0.1801],
  [30, 0.0763],
  [40, 0.0585],
  [52, -0.1764],
  [89, 0.2965],
  [99, -0.2832],
  [106, -0.1259],
  [116, -0.1218],
  [126, 0.1607],
  [158, -0.0418],
  [173, -0.0911],
  [191, 0.1171],
  [212, 0.1834],
  [220, 0.1409],
  [230, 0.0862],
  [266, -0.1676],
  [277, -0.1542],
];
const RATE = 48000;
/** The most that the decorrelator raises a peak: the sum of the sizes of its pulses. */
export const DECORRELATOR_PEAK = 2 * PULSES.reduce((sum, [, gain]) => sum + Math.abs(gain), 0);

const samplesOf = (place: number, sampleRate: number): number => Math.max(1, Math.round((place * sampleRate) / RATE));

/** Samples from the first pulse to the middle, and from there to the last. */
export const decorrelatorReach = (sampleRate: number): number => samplesOf(PULSES.at(-1)![0], sampleRate);

/**
 * A copy of a sound by an odd sequence of sparse pulses: each pulse after the middle has one of the opposite sign as far
 * before it, v(-t) = -v(t). Its spectrum is then purely imaginary, V = -2 j sum g sin(w t): at every frequency the copy stands a
 * quarter of a turn from the sound at the middle. So 1 + aV and 1 - aV have one magnitude, no partial leans to a side, and
 * their sum is the sound itself. V changes its sign every 100 to 300 Hz, and V^2 is 1 on average, so that at a = 1 what
 * left and right have in common, 1 - V^2, adds up to nothing in every band. Sparse optimised pulses: "velvet noise"
 * (Alary, Politis and Valimaki, DAFx 2017; optimised by Schlecht, Alary, Valimaki and Habets, DAFx 2018); that the sequence
 * is odd is our own.
 */
export class Decorrelator {
  private readonly ring: Ring;
  private readonly places: readonly number[];
  private readonly reach: number;

  constructor(sampleRate: number) {
    this.reach = decorrelatorReach(sampleRate);
    this.places = PULSES.map(([place]) => samplesOf(place, sampleRate));
    this.ring = new Ring(2 * this.reach + CONTROL_FRAMES);
  }

  /** Takes in samples[0..count-1]. */
  hear(samples: Float64Array, count: number): void {
    this.ring.write(samples, count);
  }

  /** Writes the copy that stands around what was heard `reach` samples before the last `count` frames. */
  read(target: Float64Array, count: number): void {
    const { ring, places, reach } = this;
    target.fill(0, 0, count);
    for (let n = 0; n < places.length; n++) {
      const gain = PULSES[n]![1];
      ring.add(count + reach + places[n]!, gain, target, count);
      ring.add(count + reach - places[n]!, -gain, target, count);
    }
  }

  clear(): void {
    this.ring.clear();
  }
}
