import { samplesIn, wholeSamplesIn } from '../core/time.ts';
import { highCut, lowCut } from '../filters/cut-parameters.ts';
import { arrivalBeside, AT_ONCE, type Arrival } from '../core/arrival.ts';
import type { StereoSound } from '../../audio/audio.ts';
import { CutFilters, HIGH_CUT_OFF, LOW_CUT_OFF } from '../filters/cut-filters.ts';
import { decibelsOf, gainOf } from '../../audio/decibels.ts';
import { fadeToWet } from '../core/fade-to-wet.ts';
import { FadingTap } from '../delay/fading-tap.ts';
import { onePoleTail } from '../filters/one-pole.ts';
import { decibels, milliseconds, percent } from '../core/parameter-builders.ts';
import type { Values } from '../core/parameter.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';
import { SilenceGate, UNHEARD } from '../core/silence-gate.ts';
import { keptFrames, SpaceConvolver } from '../reverb/space-convolver.ts';
import { StereoMatrix } from '../core/stereo-matrix.ts';

const MAX_PRE_DELAY_MS = 1000;
/** Where the tail of a cut ends; 20 dB are reserved for what a response may raise a tone by. */
const TAIL_DB = 140;
const PICTURE_FLOOR_DB = -60;

const parameters = {
  preDelay: milliseconds('Pre-delay', [0, MAX_PRE_DELAY_MS], {
    digits: 1,
    noteValues: true,
    about: 'Delay between the direct sound and the impulse response.',
  }),
  length: percent('Length', [5, 100], {
    default: 100,
    about: 'Part of the response that is kept; a shortened one fades out where it is cut.',
  }),
  width: percent('Width', [0, 100], { default: 100, about: '0 % is mono, 100 % the width of the recorded response.' }),
  lowCut: lowCut('Low cut of the response; off at 20 Hz.'),
  highCut: highCut('High cut of the response; off at 20 kHz.'),
  level: decibels('Level', [-24, 24], {
    about: 'Level of the wet sound; at 0 dB pink noise comes out as loud as it went in, whatever the impulse response.',
  }),
  mix: percent('Mix', [0, 100], { about: 'Share of the wet sound; the rest is the dry sound. 100 % on a bus.' }),
};

type ConvolutionValues = Values<typeof parameters>;

const preDelayOf = ({ preDelay }: ConvolutionValues, sampleRate: number): number =>
  wholeSamplesIn(preDelay, sampleRate);

/** Until a response is chosen nothing changes. */
const wire: Kernel<typeof parameters> = { set() {}, control() {}, process() {}, reset() {} };

/** Each side through its side of the response, behind a pre-delay, with cuts, beside the sound. */
class ConvolutionKernel implements Kernel<typeof parameters> {
  private readonly rings: readonly [Ring, Ring];
  private readonly tap: FadingTap;
  private readonly space: SpaceConvolver;
  private readonly cuts: CutFilters;
  private readonly output: StereoMatrix;
  private readonly mix: Ramp;
  private readonly gate = new SilenceGate();
  private readonly sendLeft = new Float64Array(CONTROL_FRAMES);
  private readonly sendRight = new Float64Array(CONTROL_FRAMES);
  private readonly wetLeft = new Float64Array(CONTROL_FRAMES);
  private readonly wetRight = new Float64Array(CONTROL_FRAMES);
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    values: ConvolutionValues,
    private readonly sampleRate: number,
    response: StereoSound,
  ) {
    const capacity = Math.ceil(samplesIn(MAX_PRE_DELAY_MS, sampleRate)) + CONTROL_FRAMES;
    this.rings = [new Ring(capacity), new Ring(capacity)];
    this.tap = new FadingTap(0, sampleRate);
    this.space = new SpaceConvolver(response, values.length / 100, sampleRate);
    this.cuts = new CutFilters(values.lowCut, values.highCut, sampleRate);
    this.output = new StereoMatrix(sampleRate);
    this.mix = new Ramp(0, sampleRate);
    this.set(values);
    this.reset();
  }

  set(values: ConvolutionValues): void {
    const gain = gainOf(values.level);
    const straight = (gain * (1 + values.width / 100)) / 2;
    this.tap.set(preDelayOf(values, this.sampleRate));
    this.space.set(values.length / 100);
    this.cuts.set(values.lowCut, values.highCut);
    this.output.set(straight, gain - straight, gain - straight, straight);
    this.mix.set(values.mix / 100);
  }

  control(): void {
    this.position = 0;
    this.tap.control();
    this.space.control();
    this.cuts.control();
    this.output.control();
    this.mix.control();
    const { rings, space } = this;
    if (!this.gate.due() || rings[0].peak >= UNHEARD || rings[1].peak >= UNHEARD) return;
    if (!space.silent) return;
    this.clear();
    this.gate.sleep();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { position, wetLeft, wetRight } = this;
    const count = end - start;
    this.position = position + count;
    if (this.gate.rests(left, right, start, end)) return;
    for (let i = 0; i < count; i++) {
      this.sendLeft[i] = left[start + i]!;
      this.sendRight[i] = right[start + i]!;
    }
    this.convolve(count, position);
    fadeToWet(left, right, start, count, wetLeft, wetRight, this.mix, position);
  }

  reset(): void {
    this.clear();
    this.tap.reset();
    this.cuts.reset();
    this.output.reset();
    this.mix.reset();
    this.gate.reset();
    this.position = 0;
  }

  private clear(): void {
    for (const ring of this.rings) ring.clear();
    this.space.clear();
    this.cuts.clear();
  }

  /** From the send to the wet buffers. */
  private convolve(count: number, position: number): void {
    const { rings, sendLeft, sendRight, tap, wetLeft, wetRight } = this;
    rings[0].write(sendLeft, count);
    rings[1].write(sendRight, count);
    tap.read(rings[0], sendLeft, count, position, count);
    tap.read(rings[1], sendRight, count, position, count);
    this.space.process(sendLeft, sendRight, count, position);
    this.cuts.process(sendLeft, sendRight, count, position);
    wetLeft.fill(0, 0, count);
    wetRight.fill(0, 0, count);
    this.output.add(sendLeft, sendRight, 0, wetLeft, wetRight, count, position);
  }
}

const tailOf = (values: ConvolutionValues, sampleRate: number, response?: StereoSound | null): number => {
  const { lowCut, highCut, length, mix } = values;
  if (mix === 0 || !response) return 0;
  const cuts = [...(lowCut > LOW_CUT_OFF ? [lowCut] : []), ...(highCut < HIGH_CUT_OFF ? [highCut] : [])];
  return cuts.reduce(
    (sum, hz) => sum + onePoleTail(hz, TAIL_DB, sampleRate),
    preDelayOf(values, sampleRate) + keptFrames(response.left.length, length / 100),
  );
};

/** Quieter than this beside its peak (-60 dB) a response has not begun. */
const NOT_BEGUN = 1e-3;

/** A response with half of its energy within this of its beginning is a box or a filter; any other is a room. */
const COMPACT_SECONDS = 0.001;

/** Frames until a response begins; null where it is spread over time. */
const beginningOf = ({ left, right }: StereoSound, sampleRate: number): number | null => {
  const powers = left.map((sample, n) => sample ** 2 + right[n]! ** 2);
  const peak = powers.reduce((greatest, power) => Math.max(greatest, power), 0);
  const from = powers.findIndex((power) => power > NOT_BEGUN ** 2 * peak);
  const sum = (part: typeof powers): number => part.reduce((total, power) => total + power, 0);
  const head = sum(powers.subarray(from, from + Math.ceil(COMPACT_SECONDS * sampleRate)));
  return from >= 0 && 2 * head >= sum(powers) ? from : null;
};

const arrivalOf = (values: ConvolutionValues, sampleRate: number, response?: StereoSound | null): Arrival => {
  if (!response) return AT_ONCE;
  const begins = beginningOf(response, sampleRate);
  const lagSamples = begins === null ? null : begins + preDelayOf(values, sampleRate);
  return arrivalBeside({ lagSamples, polarity: 1 }, { wet: values.mix / 100, law: 'linear' });
};

export const processor = defineProcessor({
  id: 'convolution',
  label: 'Convolution',
  about: 'Convolves the input with an impulse response of your choice: the sound of a recorded space or device.',
  sound: 'Impulse response',
  parameters,
  start: { lowCut: 150, mix: 25 },
  latency: () => 0,
  tail: tailOf,
  arrival: arrivalOf,
  picture: {
    kind: 'time',
    x: [0, (2 * MAX_PRE_DELAY_MS) / 1000],
    y: [PICTURE_FLOOR_DB, 0],
    drawn: 'stems',
    points: ({ preDelay, mix }) => {
      const level = (share: number): number => Math.max(PICTURE_FLOOR_DB, decibelsOf(share / 100));
      return [
        [0, level(100 - mix)],
        [preDelay / 1000, level(mix)],
      ];
    },
  },
  createKernel: (values, sampleRate, response) =>
    response ? new ConvolutionKernel(values, sampleRate, response) : wire,
});
