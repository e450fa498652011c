import type { StereoSound } from '../../audio/audio.ts';
import { RealTransform } from '../spectral/real-transform.ts';

/** The band over which a response is levelled, Hz. */
const FROM_HZ = 20;
const TO_HZ = 20000;
/** Length of the shortest spectrum looked at: 12 Hz from bin to bin at 48 kHz. */
const SHORTEST = 4096;

/**
 * Gain that gives pink noise its own level back through this response, both sides together: recordings of rooms come at any
 * level. 1 for a silent one.
 */
export const pinkGain = ({ left, right }: StereoSound, sampleRate: number): number => {
  const size = Math.max(SHORTEST, 2 ** Math.ceil(Math.log2(left.length)));
  const transform = new RealTransform(size);
  const signal = new Float64Array(size);
  const spectrum = new Float64Array(size + 2);
  const first = Math.ceil((FROM_HZ * size) / sampleRate);
  const last = Math.min(size / 2 - 1, Math.floor((TO_HZ * size) / sampleRate));
  let power = 0;
  let weights = 0;
  for (const side of [left, right]) {
    signal.fill(0);
    signal.set(side);
    transform.forward(signal, spectrum, 0);
    for (let bin = first; bin <= last; bin++) {
      power += (spectrum[2 * bin]! ** 2 + spectrum[2 * bin + 1]! ** 2) / bin;
      weights += 1 / bin;
    }
  }
  return power === 0 ? 1 : Math.sqrt(weights / power);
};
