import { audibleGrid, sideGainPoints } from '../filters/side-gain.ts';
import { cascadeTail } from '../reverb/decay.ts';
import { choice, hertz, milliseconds, percent } from '../core/parameter-builders.ts';
import { clearAll, controlAll, type Part, resetAll } from '../core/parts.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { crossoverSections, lowPartGain } from '../filters/crossover.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { Decorrelator, DECORRELATOR_PEAK, decorrelatorReach } from '../filters/decorrelator.ts';
import { FadingTap } from '../delay/fading-tap.ts';
import { isBanded, SideBands, type SideBandSettings, sideGainAt } from '../filters/side-bands.ts';
import { KEEP_LOUDNESS, LoudnessMatch } from '../dynamics/loudness-match.ts';
import { MONO_OFF, MonoBelow } from '../filters/mono-below.ts';
import type { NumberParameter, Values } from '../core/parameter.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';
import { samplesIn, wholeSamplesIn } from '../core/time.ts';
import { StereoDelay } from '../core/delay-line.ts';
import { widthHandles } from '../filters/width-handles.ts';

const MAX_DELAY_MS = 35;
/** The picture ends here, dB. */
const FLOOR_DB = -24;

/** One band's share of the parameters. */
const widthOf = (label: string, about: string): NumberParameter<'%'> =>
  percent(label, [0, 200], {
    group: 'Width by band',
    default: 100,
    about: `Level of the side signal ${about}: 0 % is mono, 100 % as it is, 200 % twice as much.`,
  });

const cornerOf = (label: string, about: string, min: number, max: number, byDefault: number): NumberParameter<'Hz'> =>
  hertz(label, [min, max], { group: 'Width by band', default: byDefault, about });

const parameters = {
  monoBelow: hertz('Mono below', [MONO_OFF, 500], {
    default: MONO_OFF,
    about: 'Below this frequency the output is mono (24 dB/oct); off at 20 Hz.',
  }),
  lowWidth: widthOf('Low width', 'below the low crossover'),
  midWidth: widthOf('Mid width', 'between the crossovers'),
  highWidth: widthOf('High width', 'above the high crossover'),
  lowCorner: cornerOf('Low crossover', 'Crossover frequency of the low and the mid band.', 60, 1000, 250),
  highCorner: cornerOf('High crossover', 'Crossover frequency of the mid and the high band.', 1000, 12000, 4000),
  decorrelation: percent('Decorrelation', [0, 100], {
    about:
      'Widens the mid signal above 150 Hz: adds a copy 90° out of phase to the left and subtracts it from the right, so that both keep the same level at every frequency. At 100 % left and right of a mono sound are uncorrelated; in mono the copy cancels.',
  }),
  delay: milliseconds('Delay', [0, MAX_DELAY_MS], {
    group: 'Short delay',
    digits: 1,
    about:
      'Delays one channel: very wide, but in mono it comb-filters, with a dip at half of 1 / delay and every 1 / delay above, as the picture shows; mono lows are not delayed. Off at 0 ms.',
  }),
  delayedSide: choice('Delayed side', ['right', 'left'], {
    group: 'Short delay',
    about: 'The channel that is delayed; the image leans to the other one.',
  }),
  keepLoudness: {
    ...KEEP_LOUDNESS,
    about:
      'Matches the output to the integrated loudness of the input, measured since the start; the mono loss then includes this gain.',
  },
};

type WidenerValues = Values<typeof parameters>;

const bandsOf = (values: WidenerValues): SideBandSettings => ({
  low: values.lowWidth / 100,
  mid: values.midWidth / 100,
  high: values.highWidth / 100,
  lowHz: values.lowCorner,
  highHz: values.highCorner,
});

const delayOf = ({ delay }: WidenerValues, sampleRate: number): number => wholeSamplesIn(delay, sampleRate);

/** Always, so that moving the decorrelation does not move the sound. */
const latencyOf = (_: WidenerValues, sampleRate: number): number => decorrelatorReach(sampleRate);

const buffer = (): Float64Array => new Float64Array(CONTROL_FRAMES);

/**
 * Mid and side: decorrelated mid joins the side, the side is weighed by band, the lows lose their side. Then one side may be
 * delayed, and the loudness matched. As only the delay and the loudness match change the mid (the crossovers shift its
 * phase, not its level), the mono sum keeps its spectrum.
 */
class WidenerKernel implements Kernel<typeof parameters> {
  private readonly decorrelation: Ramp;
  private readonly decorrelator: Decorrelator;
  /** Delays the sound by the reach of the decorrelator, whose pulses lie on both sides of it. */
  private readonly dry: StereoDelay;
  private readonly bands: SideBands;
  private readonly monoBelow: MonoBelow;
  private readonly rings: readonly [Ring, Ring];
  private readonly taps: readonly [FadingTap, FadingTap];
  private readonly loudness: LoudnessMatch;
  private readonly parts: readonly Part[];
  private readonly mid = buffer();
  private readonly side = buffer();
  private readonly copy = buffer();
  private readonly low = buffer();
  /** True when mid and side change in this control block. */
  private shapes = false;
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    values: WidenerValues,
    private readonly sampleRate: number,
  ) {
    const capacity = Math.ceil(samplesIn(MAX_DELAY_MS, sampleRate)) + CONTROL_FRAMES;
    this.decorrelation = new Ramp(0, sampleRate);
    this.decorrelator = new Decorrelator(sampleRate);
    this.dry = new StereoDelay(decorrelatorReach(sampleRate));
    this.bands = new SideBands(bandsOf(values), sampleRate);
    this.monoBelow = new MonoBelow(values.monoBelow, sampleRate);
    this.rings = [new Ring(capacity), new Ring(capacity)];
    this.taps = [new FadingTap(0, sampleRate), new FadingTap(0, sampleRate)];
    this.loudness = new LoudnessMatch(values.keepLoudness === 1, sampleRate);
    this.parts = [this.decorrelation, this.bands, this.monoBelow, ...this.taps, this.loudness];
    this.set(values);
    this.reset();
  }

  set(values: WidenerValues): void {
    const delay = delayOf(values, this.sampleRate);
    this.decorrelation.set(values.decorrelation / 100);
    this.bands.set(bandsOf(values));
    this.monoBelow.set(values.monoBelow);
    this.taps[0].set(values.delayedSide === 1 ? delay : 0);
    this.taps[1].set(values.delayedSide === 0 ? delay : 0);
    this.loudness.set(values.keepLoudness === 1);
  }

  control(): void {
    this.position = 0;
    controlAll(this.parts);
    this.shapes = this.decorrelates || !this.bands.idle || !this.monoBelow.idle;
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { position, low, mid, side } = this;
    const count = end - start;
    for (let i = 0; i < count; i++) this.copy[i] = (left[start + i]! + right[start + i]!) / 2;
    this.decorrelator.hear(this.copy, count);
    this.dry.process(left, right, left, right, start, end);
    this.loudness.hear(left, right, start, end);
    if (this.shapes) this.shape(left, right, start, count, position);
    this.holdBack(left, 0, start, count, position, mid);
    this.holdBack(right, 1, start, count, position, side);
    if (!this.monoBelow.idle)
      for (let i = 0; i < count; i++) {
        left[start + i]! += low[i]!;
        right[start + i]! += low[i]!;
      }
    this.loudness.level(left, right, start, end, position);
    this.position = position + count;
  }

  reset(): void {
    resetAll(this.parts);
    this.decorrelator.clear();
    this.dry.reset();
    clearAll(this.rings);
    this.position = 0;
  }

  private get decorrelates(): boolean {
    return !(this.decorrelation.settled && this.decorrelation.value === 0);
  }

  /** Works on mid and side; leaves the mono lows apart. */
  private shape(left: Float64Array, right: Float64Array, start: number, count: number, position: number): void {
    const { mid, side, monoBelow } = this;
    for (let i = 0; i < count; i++) {
      mid[i] = (left[start + i]! + right[start + i]!) / 2;
      side[i] = (left[start + i]! - right[start + i]!) / 2;
    }
    if (this.decorrelates) this.decorrelate(count, position);
    this.bands.process(mid, side, count, position);
    monoBelow.split(mid, side, count, position);
    for (let i = 0; i < count; i++) {
      this.low[i] = monoBelow.low[i]!;
      left[start + i] = mid[i]! + side[i]!;
      right[start + i] = mid[i]! - side[i]!;
    }
  }

  private decorrelate(count: number, position: number): void {
    const { side, copy } = this;
    this.decorrelator.read(copy, count);
    const { value, step } = this.decorrelation;
    for (let i = 0; i < count; i++) side[i]! += (value + step * (position + i)) * copy[i]!;
  }

  private holdBack(
    samples: Float64Array,
    which: 0 | 1,
    start: number,
    count: number,
    position: number,
    spare: Float64Array,
  ): void {
    const ring = this.rings[which];
    for (let i = 0; i < count; i++) spare[i] = samples[start + i]!;
    ring.write(spare, count);
    this.taps[which].read(ring, spare, count, position, count);
    for (let i = 0; i < count; i++) samples[start + i] = spare[i]!;
  }
}

const tailOf = (values: WidenerValues, sampleRate: number): number => {
  const bands = bandsOf(values);
  const sections = [
    ...(isBanded(bands) ? [bands.lowHz, bands.highHz].flatMap((hz) => crossoverSections(hz, sampleRate)) : []),
    ...(values.monoBelow > MONO_OFF ? crossoverSections(values.monoBelow, sampleRate) : []),
  ];
  const copies = values.decorrelation > 0;
  return (
    delayOf(values, sampleRate) +
    (copies ? decorrelatorReach(sampleRate) : 0) +
    cascadeTail(sections, copies ? 1 + DECORRELATOR_PEAK : 1)
  );
};

/**
 * Level of the mono sum of a centred sound when one side is late: |1 + exp(-i 2 pi f delay)| / 2 above the mono lows. Where
 * teeth are closer than the points, the points stand on a peak and in a dip by turns.
 */
const foldPoints = (
  values: WidenerValues,
  sampleRate: number,
  count: number,
): readonly (readonly [number, number])[] => {
  const seconds = delayOf(values, sampleRate) / sampleRate;
  const grid = audibleGrid(sampleRate, count);
  return grid.map((hz, n) => {
    const dense = n > 0 && (hz - grid[n - 1]!) * seconds > 1;
    const at = dense ? (Math.round(hz * seconds) + (n % 2) / 2) / seconds : hz;
    const high = values.monoBelow > MONO_OFF ? 1 - lowPartGain(values.monoBelow, at, sampleRate) : 1;
    const cos = Math.cos(2 * Math.PI * at * seconds);
    const sin = Math.sin(2 * Math.PI * at * seconds);
    return [
      at,
      Math.max(FLOOR_DB, decibelsOf(Math.hypot(1 - high + (high * (1 + cos)) / 2, (high * sin) / 2))),
    ] as const;
  });
};

export const processor = defineProcessor({
  id: 'widener',
  label: 'Widener',
  about: 'Makes stereo sound wider or narrower by band, widens mono sound, and keeps lows mono.',
  parameters,
  start: { monoBelow: 120, highWidth: 140, decorrelation: 30 },
  latency: latencyOf,
  tail: tailOf,
  picture: {
    kind: 'frequency',
    x: [20, 20000],
    y: [FLOOR_DB, 12],
    drawn: 'line',
    points: (values, sampleRate, count) =>
      delayOf(values, sampleRate) > 0
        ? foldPoints(values, sampleRate, count)
        : sideGainPoints(
            (hz) => sideGainAt(bandsOf(values), hz, sampleRate),
            values.monoBelow,
            FLOOR_DB,
            sampleRate,
            count,
          ),
    handles: (values, sampleRate) => (delayOf(values, sampleRate) > 0 ? [] : widthHandles(values, FLOOR_DB)),
  },
  createKernel: (values, sampleRate) => new WidenerKernel(values, sampleRate),
});
