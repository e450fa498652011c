import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { CompressorKernel, processor } from '../../src/dsp/processors/compressor.ts';
import { both } from './chains.ts';

/** Values of a compressor with these settings. */
export const compressorValues = (settings: Settings) => valuesFrom(processor.parameters, settings);

/** Its reduction after every frame of a sound that is the same on both sides, at 48 kHz, dB. */
export function reductions(settings: Settings, sound: Float64Array): Float64Array {
  const kernel = new CompressorKernel(compressorValues(settings), 48000);
  const { left, right } = both(sound.slice());
  return Float64Array.from(sound, (_, n) => {
    if (n % 64 === 0) kernel.control();
    kernel.process(left, right, n, n + 1, null);
    return kernel.reductionDb;
  });
}
