import { connect, type Context } from 'tone';
import { binStretches, thirdOctavesBelow } from '../measure/third-octaves.ts';

/** Samples of a transform: 0.34 s at 48 kHz, so that the lowest third octaves have bins of their own. */
const SIZE = 16_384;
/** A level in dB times this is the natural logarithm of its power. */
const NEPERS = Math.LN10 / 10;
/** Mean square of the Blackman window that the browser's analyser uses (Web Audio API, alpha 0.16): 0.42^2 + 0.5^2 / 2 + 0.08^2 / 2. */
const WINDOW_POWER = 0.42 ** 2 + 0.5 ** 2 / 2 + 0.08 ** 2 / 2;

/** Powers of third octaves out of the bins that the browser's analyser gives of one channel, dB. */
const bandPowers = (bins: Float32Array, sampleRate: number): Float64Array => {
  const powers = new Float64Array(thirdOctavesBelow(sampleRate).length);
  for (const { band, from, to, weight } of binStretches(bins.length, sampleRate)) {
    if (band >= powers.length) continue;
    let sum = 0;
    for (let bin = from; bin < Math.min(to, bins.length); bin++) sum += Math.exp(NEPERS * bins[bin]!);
    powers[band]! += weight * sum;
  }
  return powers;
};

/** The spectrum of what a node gives, as the browser's own transform has it: nothing is worked out until it is read. */
export class HeardSpectrum {
  private readonly splitter: ChannelSplitterNode;
  private readonly analysers: readonly AnalyserNode[];
  private readonly bins = new Float32Array(SIZE / 2);
  /** Of each channel, as they were last read. */
  private readonly powers: Float64Array[] = [];
  private next = 0;

  constructor(
    private readonly context: Context,
    from: AudioNode,
  ) {
    this.splitter = context.createChannelSplitter(2);
    connect(from, this.splitter);
    this.analysers = [0, 1].map((channel) => {
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

  /**
   * Levels of the third octaves from 25 Hz up over the last third of a second, dB as `Spectrum` has them (channels summed, a full-scale
   * sine in one channel is -3.01); -Infinity: nothing. A transform of this length costs the page a millisecond: the channels are read
   * in turn, one each time.
   */
  read(): readonly number[] {
    while (this.powers.length < this.analysers.length) this.readNext();
    this.readNext();
    const [left, right] = this.powers as [Float64Array, Float64Array];
    // Half of the power lies at negative frequencies, which it does not give.
    return Array.from(left, (power, band) => 10 * Math.log10((2 * (power + right[band]!)) / WINDOW_POWER));
  }

  private readNext(): void {
    const channel = this.next;
    this.analysers[channel]!.getFloatFrequencyData(this.bins);
    this.powers[channel] = bandPowers(this.bins, this.context.sampleRate);
    this.next = (channel + 1) % this.analysers.length;
  }
}
