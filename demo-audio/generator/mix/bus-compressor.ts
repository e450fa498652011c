import type { Signal } from '../signal.ts';
import { sampleRate } from '../tempo.ts';

/** Soft compression of a stereo mix, in place: mean-square detector over both channels, gentle knee, dB domain. */
export const compress = (
  [left, right]: readonly [Signal, Signal],
  {
    thresholdDb,
    ratio,
    attackMs,
    releaseMs,
  }: { thresholdDb: number; ratio: number; attackMs: number; releaseMs: number },
): void => {
  const average = 1 - Math.exp(-1000 / (10 * sampleRate));
  const attack = 1 - Math.exp(-1000 / (attackMs * sampleRate));
  const release = 1 - Math.exp(-1000 / (releaseMs * sampleRate));
  let power = 0;
  let reductionDb = 0;
  for (let n = 0; n < left.length; n++) {
    power += average * ((left[n]! ** 2 + right[n]! ** 2) / 2 - power);
    const over = 10 * Math.log10(power + 1e-9) - thresholdDb;
    const knee = 0.5 * (over + Math.sqrt(over * over + 36));
    const wanted = knee * (1 - 1 / ratio);
    reductionDb += (wanted > reductionDb ? attack : release) * (wanted - reductionDb);
    const gain = 10 ** (-reductionDb / 20);
    left[n] = left[n]! * gain;
    right[n] = right[n]! * gain;
  }
};
