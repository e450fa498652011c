import { type Arrival, arrivalBeside, AT_ONCE } from '../core/arrival.ts';
import { clearAll, controlAll, type Memory, type Part, resetAll } from '../core/parts.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { cutCorners, CutFilters } from '../filters/cut-filters.ts';
import { decibels, percent } from '../core/parameter-builders.ts';
import { decibelsOf, gainOf } from '../../audio/decibels.ts';
import { highCut, lowCut } from '../filters/cut-parameters.ts';
import { keptFrames, SpaceConvolver } from '../reverb/space-convolver.ts';
import { MAX_PRE_DELAY_MS, PreDelay, preDelayParameter } from '../delay/pre-delay.ts';
import { Mixer } from '../core/mixer.ts';
import type { PictureHandle } from '../core/picture-handle.ts';
import { onePoleTail } from '../filters/one-pole.ts';
import { StereoMatrix } from '../core/stereo-matrix.ts';
import type { StereoSound } from '../../audio/audio.ts';
import type { Values } from '../core/parameter.ts';
import { wetEffect, type WetSound } from '../core/wet-effect.ts';
import { wholeSamplesIn } from '../core/time.ts';

/** Level at which the tail of a cut ends; 20 dB are reserved for tones that a response raises. */
const TAIL_DB = 140;
const PICTURE_FLOOR_DB = -60;

const parameters = {
  preDelay: preDelayParameter('Delay between the direct sound and the impulse response.'),
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

/** Until a response is chosen nothing changes. */
const wire: Kernel<typeof parameters> = { set() {}, control() {}, process() {}, reset() {} };

/** Each side through its side of the response, after a pre-delay, with cuts, beside the sound. */
class ConvolutionWet implements WetSound<typeof parameters> {
  private readonly preDelay: PreDelay;
  private readonly space: SpaceConvolver;
  private readonly cuts: CutFilters;
  private readonly output: StereoMatrix;
  private readonly parts: readonly Part[];
  private readonly memories: readonly Memory[];
  private readonly spaceLeft = new Float64Array(CONTROL_FRAMES);
  private readonly spaceRight = new Float64Array(CONTROL_FRAMES);

  constructor(values: ConvolutionValues, sampleRate: number, response: StereoSound) {
    this.preDelay = new PreDelay(values.preDelay, sampleRate);
    this.space = new SpaceConvolver(response, values.length / 100, sampleRate);
    this.cuts = new CutFilters(values.lowCut, values.highCut, sampleRate);
    this.output = new StereoMatrix(sampleRate);
    this.parts = [this.preDelay, this.cuts, this.output];
    this.memories = [this.preDelay, this.space, this.cuts];
  }

  set(values: ConvolutionValues): void {
    const gain = gainOf(values.level);
    const straight = (gain * (1 + values.width / 100)) / 2;
    this.preDelay.set(values.preDelay);
    this.space.set(values.length / 100);
    this.cuts.set(values.lowCut, values.highCut);
    this.output.set(straight, gain - straight, gain - straight, straight);
  }

  control(): void {
    controlAll(this.parts);
    this.space.control();
  }

  get silent(): boolean {
    return this.preDelay.silent && this.space.silent;
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    const { spaceLeft, spaceRight } = this;
    this.preDelay.process(left, right, count, position);
    this.space.process(left, right, count, position);
    this.cuts.process(left, right, count, position);
    for (let i = 0; i < count; i++) {
      spaceLeft[i] = left[i]!;
      spaceRight[i] = right[i]!;
    }
    left.fill(0, 0, count);
    right.fill(0, 0, count);
    this.output.add(spaceLeft, spaceRight, 0, left, right, count, position);
  }

  clear(): void {
    clearAll(this.memories);
  }

  reset(): void {
    resetAll(this.parts);
  }
}

const tailOf = (values: ConvolutionValues, sampleRate: number, response?: StereoSound | null): number => {
  const { length, mix } = values;
  if (mix === 0 || !response) return 0;
  return cutCorners(values).reduce(
    (sum, hz) => sum + onePoleTail(hz, TAIL_DB, sampleRate),
    wholeSamplesIn(values.preDelay, sampleRate) + keptFrames(response.left.length, length / 100),
  );
};

/** A response begins where it first exceeds this part of its peak (-60 dB). */
const NOT_BEGUN = 1e-3;

/** A response with half of its energy within this time of its beginning counts as a device or filter; any other as a room. */
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
  const lagSamples = begins === null ? null : begins + wholeSamplesIn(values.preDelay, sampleRate);
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
    handles: ({ preDelay, length, mix }, _sampleRate, soundSeconds) => {
      const from = preDelay / 1000;
      const start: PictureHandle = {
        id: 'preDelay',
        label: 'Pre-delay',
        x: from,
        y: Math.max(PICTURE_FLOOR_DB, decibelsOf(mix / 100)),
        across: { parameter: 'preDelay', at: (place) => 1000 * place },
      };
      if (!soundSeconds) return [start];
      const end: PictureHandle = {
        id: 'length',
        label: 'Length',
        x: from + (soundSeconds * length) / 100,
        y: PICTURE_FLOOR_DB,
        across: { parameter: 'length', at: (place) => (100 * (place - from)) / soundSeconds },
      };
      return [start, end];
    },
  },
  createKernel: (values, sampleRate, response) =>
    response
      ? wetEffect(new ConvolutionWet(values, sampleRate, response), new Mixer('linear', 0, sampleRate), values)
      : wire,
});
