import { figuresOfPeaks, type Figures } from '../../measure/figures.ts';
import type { Guard } from '../../session/schema.ts';
import { GUARD_DEFINITIONS, guardReadings, type Guarded, type HeldReading } from '../guards/guards.ts';
import { PeakModel } from '../peaks/peak-model.ts';
import { blendGain, GuardedBlend, type BlendSpace } from './blend-space.ts';
import { searchRanges, type Aim, type Found } from './range-search.ts';
import type { Target, TargetFigure } from './solve-target.ts';

/** A bus whose blend may be moved. */
export interface MovableBus {
  readonly id: string;
  readonly name: string;
  /** Its place among the paths. */
  readonly place: number;
  readonly startDb: number;
  readonly low: number;
  readonly high: number;
}

export interface TargetAim extends Aim, Target {}

/** One reading of a guard within its limit. */
export interface GuardAim extends Aim {
  readonly guard: Guard;
  /** Which of the guard's readings, see `readingKey`. */
  readonly key: string;
  /** Value of the print less that of the blend before the mix bus, where both were measured. */
  readonly offset: number;
}

/** Guards that need peaks. */
export const PEAK_GUARDS: readonly Guard[] = ['true-peak ceiling', 'minimum PLR'];

export const isPeakGuard = (guard: Guard): boolean => PEAK_GUARDS.includes(guard);

/** Unit steps of figures: 1 dB or LU, 0.1 of a plain number such as a correlation. */
export const scaleOf = (unit: string): number => (unit === '' ? 0.1 : 1);

/** Names one reading of a guard among its others. */
const readingKey = ({ against, of = '' }: HeldReading): string => `${against ?? ''} ${of}`;

/** Largest error of the peak model at the end of a search, dB. */
const PEAK_ERROR = 0.01;

/** Other places to start from, parts of the way from the lowest to the highest blend: the Halton sequence of bus and start. */
const OTHER_STARTS = 2;
/** Lowest blend of a starting point, dB: below it a bus is hardly heard and figures do not change with its blend. */
const AUDIBLE_START = -20;

/** A value well within the limit, in place of a reading that a blend does not have. */
const farWithin = (guard: Guard): number => (GUARD_DEFINITIONS[guard].bound === 'at most' ? -1e3 : 1e3);

/**
 * The solver's problem in numbers, near one printed mix: settings are the blends of the movable buses, dB.
 * Figures are those of the blend plus the difference of that print from its blend.
 */
export class SolveProblem {
  /** Blends measured so far. */
  queries = 0;
  private readonly peaks: PeakModel | null;
  private readonly loudest: boolean;
  private readonly guardsByName: readonly Guard[];

  constructor(
    private readonly space: BlendSpace,
    readonly buses: readonly MovableBus[],
    guards: readonly GuardAim[],
    targets: readonly Target[],
    /** Figures of the print less those of the blend. */
    private readonly offsets: ReadonlyMap<string, number>,
    /** All figures of a blend, its peaks too. */
    private readonly exact: (gains: readonly number[]) => Figures,
  ) {
    const peaks =
      targets.some(({ figure }) => figure.cost === 'peaks') || guards.some((g) => PEAK_GUARDS.includes(g.guard));
    const sounds = space.paths.map(({ audio }) => audio);
    this.peaks = peaks ? new PeakModel(sounds, exact) : null;
    this.loudest = targets.some(({ figure }) => figure.cost === 'loudest');
    this.guardsByName = [...new Set(guards.map(({ guard }) => guard))];
  }

  gainsAt(settings: readonly number[]): number[] {
    return gainsAt(this.space, this.buses, settings);
  }

  /** Computes the exact peaks of a blend and corrects the model of peaks with them. */
  look(settings: readonly number[]): void {
    this.peaks?.look(this.gainsAt(settings));
  }

  /** True if the model gives the exact peaks of this blend. */
  isExact(settings: readonly number[]): boolean {
    if (!this.peaks) return true;
    const gains = this.gainsAt(settings);
    const exact = this.exact(gains).truePeakDbtp;
    const modelled = this.peaks.truePeakDbtp(gains);
    return exact === null || modelled === null || Math.abs(exact - modelled) < PEAK_ERROR;
  }

  /** Figures of a blend, its peaks from the model. */
  private figuresAt(gains: readonly number[]): Figures {
    this.queries++;
    const { query } = this.space;
    const figures = this.loudest
      ? query.figures(gains)
      : { ...query.essentials(gains), maxMomentaryLufs: null, maxShortTermLufs: null };
    const truePeakDbtp = this.peaks?.truePeakDbtp(gains) ?? null;
    const samplePeakDbfs = this.peaks?.samplePeakDbfs(gains) ?? null;
    return {
      ...figures,
      truePeakDbtp,
      samplePeakDbfs,
      ...figuresOfPeaks({ ...figures, samplePeakDbfs, truePeakDbtp }),
      clippedSamples: 0,
    };
  }

  private targetValue(figure: TargetFigure, figures: Figures, gains: readonly number[]): number {
    const value = figure.valueOf(figures, () => this.space.query.lowsCorrelation(gains)) ?? NaN;
    return value + (this.offsets.get(figure.name) ?? 0);
  }

  /** One figure; NaN where it does not exist. */
  valueOf(figure: TargetFigure, settings: readonly number[]): number {
    const gains = this.gainsAt(settings);
    return this.targetValue(figure, this.figuresAt(gains), gains);
  }

  private values(targets: readonly TargetAim[], guards: readonly GuardAim[], settings: readonly number[]): number[] {
    const gains = this.gainsAt(settings);
    const figures = this.figuresAt(gains);
    const readings = readingsOf(this.space, guardedAt(this.space, gains, figures), this.guardsByName);
    return [
      ...targets.map(({ figure }) => this.targetValue(figure, figures, gains)),
      ...guards.map(({ guard, key, offset }) => (readings.get(guard)?.get(key) ?? farWithin(guard)) + offset),
    ];
  }

  /** Looks for settings near `start` that meet all aims. */
  search(targets: readonly TargetAim[], guards: readonly GuardAim[], start: readonly number[]): Found {
    return searchRanges(
      {
        evaluate: (settings) => this.values(targets, guards, settings),
        aims: [...targets, ...guards],
        low: this.buses.map(({ low }) => low),
        high: this.buses.map(({ high }) => high),
      },
      start,
    );
  }

  /** Starting points far apart from each other, the same every time. */
  otherStarts(): number[][] {
    return Array.from({ length: OTHER_STARTS }, (_, n) =>
      this.buses.map(({ low, high }, bus) => {
        const bottom = Math.min(high, Math.max(low, AUDIBLE_START));
        return bottom + (high - bottom) * radicalInverse(n * this.buses.length + bus + 1);
      }),
    );
  }
}

/** The gains of all paths at these blends of the movable buses. */
export const gainsAt = (space: BlendSpace, buses: readonly MovableBus[], settings: readonly number[]): number[] => {
  const gains = [...space.gains];
  buses.forEach(({ place }, n) => (gains[place] = blendGain(settings[n]!)));
  return gains;
};

/** The figures that guards read of a blend before the mix bus chain, peaks included. */
export const guardedAt = (space: BlendSpace, gains: readonly number[], figures: Figures): GuardedBlend =>
  new GuardedBlend({ ...space, trimDb: space.trimDb ?? 0 }, gains, {
    essentials: figures,
    truePeakDbtp: figures.truePeakDbtp,
  });

/** Every reading of these guards, by guard and key. */
export const readingsOf = (
  { references }: BlendSpace,
  mix: Guarded,
  guards: readonly Guard[],
): ReadonlyMap<Guard, ReadonlyMap<string, number>> =>
  new Map(
    guards.map((guard) => {
      const readings = guardReadings(guard, mix, references);
      return [guard, new Map(readings.map((reading) => [readingKey(reading), reading.value]))] as const;
    }),
  );

/** Van der Corput's sequence in base 2: evenly spread parts of 1. */
const radicalInverse = (n: number): number => {
  let [value, part] = [0, 0.5];
  for (let rest = n; rest > 0; rest >>= 1, part /= 2) if (rest & 1) value += part;
  return value;
};
