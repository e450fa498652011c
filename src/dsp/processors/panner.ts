import { cascadeTail } from '../reverb/decay.ts';
import { choice, hertz, percent, toggle } from '../core/parameter-builders.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { crossoverSections } from '../filters/crossover.ts';
import { type GainMatrix, inTurn, straight } from '../core/gain-matrix.ts';
import { MONO_OFF, MonoBelow } from '../filters/mono-below.ts';
import { panMatrix } from '../core/pan.ts';
import { sideGainPoints } from '../filters/side-gain.ts';
import { StereoMatrix } from '../core/stereo-matrix.ts';
import { toLeftRight, toMidSide } from '../core/mid-side.ts';
import type { Values } from '../core/parameter.ts';
import { monoBelowHandle, widthHandle } from '../filters/width-handles.ts';

/** The picture ends here, dB. */
const PICTURE_FLOOR_DB = -24;

const parameters = {
  pan: percent('Pan', [-100, 100], { about: 'Pans the sound: -100 % is left, 100 % right, 0 % unchanged.' }),
  law: choice('Pan mode', ['stereo', 'mono'], {
    about:
      'Stereo folds the far side into the near one, so that nothing is lost; mono, for a sound that is the same on both sides, weighs each side with equal power: 0 dB in the middle, 3 dB more hard to one side.',
  }),
  balance: percent('Balance', [-100, 100], {
    about: 'Turns down the far side and leaves the near one as it is: -100 % is left only, 100 % right only.',
  }),
  width: percent('Width', [0, 200], {
    default: 100,
    about: 'Level of the side signal: 0 % is mono, 100 % unchanged, 200 % twice as much; the mono sum does not change.',
  }),
  monoBelow: hertz('Mono below', [MONO_OFF, 500], {
    default: MONO_OFF,
    about: 'Below this frequency the output is mono, whatever pan and width (24 dB/oct); off at 20 Hz.',
  }),
  swap: toggle('Swap channels', { about: 'Swaps left and right.' }),
};

type PannerValues = Values<typeof parameters>;

const swapMatrix: GainMatrix = { leftToLeft: 0, leftToRight: 1, rightToLeft: 1, rightToRight: 0 };

/** Mid as it is, side times `width`. */
const widthMatrix = (width: number): GainMatrix => ({
  leftToLeft: (1 + width) / 2,
  leftToRight: (1 - width) / 2,
  rightToLeft: (1 - width) / 2,
  rightToRight: (1 + width) / 2,
});

/** Gain of the far side: a quarter of a cosine, -3 dB half-way. */
const farGain = (balance: number): number => Math.cos((balance * Math.PI) / 2);

const balanceMatrix = (balance: number): GainMatrix => ({
  ...straight(1),
  ...(balance > 0 && { leftToLeft: farGain(balance) }),
  ...(balance < 0 && { rightToRight: farGain(balance) }),
});

/** Swap, width, balance and pan, in this order, as one matrix for the sound above the mono lows. */
const panningOf = ({ pan, law, balance, width, swap }: PannerValues): GainMatrix =>
  [widthMatrix(width / 100), balanceMatrix(balance / 100), panMatrix(pan / 100, law === 1 ? 1 : 2, 1)].reduce(
    inTurn,
    swap === 1 ? swapMatrix : straight(1),
  );

/** A matrix of gains; below the corner of the mono lows, left and right become equal. */
class PannerKernel implements Kernel<typeof parameters> {
  private readonly matrix: StereoMatrix;
  private readonly monoBelow: MonoBelow;
  private readonly left = new Float64Array(CONTROL_FRAMES);
  private readonly right = new Float64Array(CONTROL_FRAMES);
  /** Frames of the control block already done. */
  private position = 0;

  constructor(values: PannerValues, sampleRate: number) {
    this.matrix = new StereoMatrix(sampleRate);
    this.monoBelow = new MonoBelow(values.monoBelow, sampleRate);
    this.set(values);
    this.reset();
  }

  set(values: PannerValues): void {
    const { leftToLeft, rightToLeft, leftToRight, rightToRight } = panningOf(values);
    this.matrix.set(leftToLeft, rightToLeft, leftToRight, rightToRight);
    this.monoBelow.set(values.monoBelow);
  }

  control(): void {
    this.position = 0;
    this.matrix.control();
    this.monoBelow.control();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { left: ownLeft, right: ownRight, position } = this;
    const count = end - start;
    this.position = position + count;
    ownLeft.fill(0, 0, count);
    ownRight.fill(0, 0, count);
    this.matrix.add(left, right, start, ownLeft, ownRight, count, position);
    if (!this.monoBelow.idle) this.foldLows(count, position);
    for (let i = 0; i < count; i++) {
      left[start + i] = ownLeft[i]!;
      right[start + i] = ownRight[i]!;
    }
  }

  reset(): void {
    this.matrix.reset();
    this.monoBelow.reset();
    this.position = 0;
  }

  private foldLows(count: number, position: number): void {
    const { left, right, monoBelow } = this;
    toMidSide(left, right, 0, count);
    monoBelow.split(left, right, count, position);
    for (let i = 0; i < count; i++) left[i]! += monoBelow.low[i]!;
    toLeftRight(left, right, 0, count);
  }
}

export const processor = defineProcessor({
  id: 'panner',
  label: 'Panner',
  about: 'Pan, balance and width.',
  parameters,
  start: { width: 120, monoBelow: 100 },
  latency: () => 0,
  tail: ({ monoBelow }, sampleRate) =>
    monoBelow > MONO_OFF ? cascadeTail(crossoverSections(monoBelow, sampleRate)) : 0,
  picture: {
    kind: 'frequency',
    x: [20, 20000],
    y: [PICTURE_FLOOR_DB, 12],
    drawn: 'line',
    points: ({ width, monoBelow }, sampleRate, count) =>
      sideGainPoints(() => width / 100, monoBelow, PICTURE_FLOOR_DB, sampleRate, count),
    handles: ({ width, monoBelow }) => [
      monoBelowHandle(monoBelow),
      widthHandle('width', 'Width', [monoBelow, 20_000], width, PICTURE_FLOOR_DB),
    ],
  },
  createKernel: (values, sampleRate) => new PannerKernel(values, sampleRate),
});
