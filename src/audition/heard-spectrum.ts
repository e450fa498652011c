import { connect, type Context } from 'tone';
import { binStretches, thirdOctavesBelow } from '../measure/third-octaves.ts';

/** Samples of a transform: 0.34 s at 48 kHz, so that the lowest third octaves have bins of their own. */
const SIZE = 16_384;
/** Mean square of the Blackman window that the browser's analyser uses (Web Audio API, alpha 0.16): 0.42^2 + 0.5^2 / 2 + 0.08^2 / 2. */
const WINDOW_POWER = 0.42 ** 2 + 0.5 ** 2 / 2 + 0.08 ** 2 / 2;

/**
 * Levels of third octaves, dB as `Spectrum` has them (channels summed, a full-scale sine in one channel is -3.01), out of the bins that
 * the browser's analyser gives of each channel, dB; -Infinity: nothing.
 */
const bandLevels = (channels: readonly Float32Array[], sampleRate: number): readonly number[] => {
  const powers = new Float64Array(thirdOctavesBelow(sampleRate).length);
  for (const bins of channels)
    for (const { band, from, to, weight } of binStretches(bins.length, sampleRate)) {
      if (band >= powers.length) continue;
      let sum = 0;
      for (let bin = from; bin < Math.min(to, bins.length); bin++) sum += 10 ** (bins[bin]! / 10);
      powers[band]! += weight * sum;
    }
  // Half of the power lies at negative frequencies, which it does not give.
  return [...powers].map((power) => 10 * Math.log10((2 * power) / WINDOW_POWER));
};

/** The spectrum of what a node gives, as the browser's own transform has it: nothing is worked out until it is read. */
export class HeardSpectrum {
  private readonly splitter: ChannelSplitterNode;
  private readonly analysers: readonly AnalyserNode[];
  private readonly bins = [new Float32Array(SIZE / 2), new Float32Array(SIZE / 2)] as const;

  constructor(
    private readonly context: Context,
    from: AudioNode,
  ) {
    this.splitter = context.createChannelSplitter(2);
    connect(from, this.splitter);
    this.analysers = this.bins.map((_, channel) => {
      const analyser = context.createAnalyser();
      analyser.fftSize = SIZE;
      analyser.smoothingTimeConstant = 0;
      connect(this.splitter, analyser, channel, 0);
      return analyser;
    });
  }

  end(): void {
    this.splitter.disconnect();
  }

  /** Levels of the third octaves from 25 Hz up over the last third of a second, dB. */
  read(): readonly number[] {
    this.analysers.forEach((analyser, n) => analyser.getFloatFrequencyData(this.bins[n]!));
    return bandLevels(this.bins, this.context.sampleRate);
  }
}
