import { DEFINITIONS } from '../../measure/definitions/definitions.ts';
import { slopeOf } from '../../measure/details.ts';
import type { FigureDefinition } from '../../measure/definitions/figure-definition.ts';
import type { Figures } from '../../measure/figures.ts';
import { SHOWN_FIGURES, isDetail, shownFigureOf } from '../../measure/definitions/shown-figures.ts';
import { nearNames } from '../../session/near-names.ts';
import { described, listed, ProblemError } from '../../session/problem.ts';

/** Most or least that the guards allow, or a range of one figure; a value is a range of no width. */
export type Wanted = 'max' | 'min' | { readonly low: number; readonly high: number };

/** What must be measured for a figure: the essentials, also the maximum loudness, or also the peaks. */
type Cost = 'essentials' | 'loudest' | 'peaks';

/** A figure that blends can be solved for. */
export interface TargetFigure {
  /** As `measure` prints it: "integratedLufs", "stereo.correlation", "bands.1000.levelDb". */
  readonly name: string;
  readonly label: string;
  readonly unit: string;
  readonly decimals: number;
  readonly cost: Cost;
  /** Values that it can take at all. */
  readonly least: number;
  readonly most: number;
  readonly valueOf: (figures: Figures, lowsCorrelation: () => number | null) => number | null;
}

export interface Target {
  readonly figure: TargetFigure;
  readonly wanted: Wanted;
}

const figureNamed = (
  name: string,
  { label, unit, decimals, needs, least = -Infinity, most = Infinity }: FigureDefinition,
  valueOf: TargetFigure['valueOf'],
): TargetFigure => ({ name, label, unit, decimals, cost: needs ?? 'essentials', least, most, valueOf });

/** Details that follow from the products of a blend. */
const DETAILS: Readonly<Partial<Record<string, TargetFigure['valueOf']>>> = {
  slopeDbPerOctave: ({ bands }) => slopeOf(bands),
  lowsCorrelation: (_, lows) => lows(),
};

const FIGURES: readonly TargetFigure[] = SHOWN_FIGURES.flatMap((figure) => {
  const { key } = figure;
  const valueOf = isDetail(key) ? DETAILS[key] : (figures: Figures) => shownFigureOf(figures, key);
  return valueOf && !figure.notSearched ? [figureNamed(key, figure, valueOf)] : [];
});

const BAND = /^bands\.(\d+(?:\.\d+)?)\.(levelDb|sideToMidDb)$/;

const bandFigure = (name: string): TargetFigure | null => {
  const [, hz, part] = BAND.exec(name) ?? [];
  if (part !== 'levelDb' && part !== 'sideToMidDb') return null;
  // Nominal frequencies lie within 1.5 % of the exact ones.
  const isNear = (exact: number): boolean => Math.abs(Math.log(exact / Number(hz))) < 0.03;
  const definition = DEFINITIONS[`bands.${part}`];
  const label = `${definition.label} at ${hz} Hz`;
  return figureNamed(name, { ...definition, label }, ({ bands }) => bands.find((b) => isNear(b.hz))?.[part] ?? null);
};

/** "sideToMidDb" in words, as names are compared by words: "side To Mid Db". */
const inWords = (name: string): string => name.replace(/([a-z])(?=[A-Z])/g, '$1 ');

/** Suggestions for an unknown name, by names and labels: "stereo.sideToMidDb (Width)"; at most three. */
const meantBy = (name: string): readonly string[] => {
  const figures = new Map(
    FIGURES.flatMap((each) => [
      [inWords(each.name.replace('stereo.', '')), each] as const,
      [each.label, each] as const,
    ]),
  );
  const near = nearNames(inWords(name), [...figures.keys()], 6).map((text) => figures.get(text)!);
  return [...new Set(near)].slice(0, 3).map((figure) => `${figure.name} (${figure.label.split(' (')[0]!})`);
};

/** A label as it is compared with a name: "Max. momentary" is "maxmomentary". */
const asTyped = (label: string): string =>
  label
    .split(' (')[0]!
    .replace(/[^A-Za-z0-9]/g, '')
    .toLowerCase();

/**
 * The figure of this name, or of this label in any spelling ("LRA", "true peak"); members of `stereo` may go without it.
 * @throws ProblemError naming `place`
 */
export const targetFigure = (name: string, place: string): TargetFigure => {
  const found =
    FIGURES.find((each) => each.name === name || each.name === `stereo.${name}`) ??
    bandFigure(name) ??
    FIGURES.find((each) => asTyped(each.label) === asTyped(name));
  if (found) return found;
  const meant = meantBy(name);
  const known =
    meant.length > 0
      ? `did you mean ${meant.join(' or ')}?`
      : `${FIGURES.map((each) => each.name).join(', ')}, or bands.HZ.levelDb`;
  const expected = `a figure that blends can be solved for (${known})`;
  throw new ProblemError({ code: 'unknown-name', path: place, expected, found: described(name) });
};

const PARTS = /^\s*([A-Za-z][\w. -]*?)\s*(>=|<=|=)\s*(.*?)\s*$/;
const NUMBER = '[+-]?(?:\\d+\\.?\\d*|\\.\\d+)';
const VALUE = new RegExp(`^${NUMBER}$`);
const RANGE = new RegExp(`^(${NUMBER})\\s*\\.\\.\\s*(${NUMBER})$`);

/** True for the text of a target, false for what must be the name of a file. */
export const isTargetText = (text: string): boolean => PARTS.test(text);

/** A range of numbers as it is written, "-16..-14"; null: it is none. */
export const rangeFrom = (text: string): { readonly low: number; readonly high: number } | null => {
  const [, low, high] = RANGE.exec(text.trim()) ?? [];
  return low === undefined || high === undefined ? null : { low: Number(low), high: Number(high) };
};

const wantedFrom = (sign: string, text: string, place: string): Wanted => {
  const range = rangeFrom(text);
  if (sign === '=' && (text === 'max' || text === 'min')) return text;
  if (sign === '=' && range) return range;
  if (VALUE.test(text)) {
    const value = Number(text);
    return { low: sign === '<=' ? -Infinity : value, high: sign === '>=' ? Infinity : value };
  }
  const expected = sign === '=' ? 'a number, a range as -16..-14, max or min' : 'a number';
  throw new ProblemError({ code: 'wrong-type', path: place, expected, found: described(text) });
};

/** The target. @throws ProblemError where its range is empty, or no sound has such a value. */
export const checkedTarget = (figure: TargetFigure, wanted: Wanted, place: string): Target => {
  if (typeof wanted === 'string') return { figure, wanted };
  const { low, high } = wanted;
  const problem = (expected: string, found: string): ProblemError =>
    new ProblemError({ code: 'out-of-range', path: place, expected, found });
  if (low > high) throw problem('a range from the lesser to the greater value', `${low}..${high}`);
  const { least, most } = figure;
  if (high < least || low > most) {
    const expected = Number.isFinite(least) && Number.isFinite(most) ? `between ${least} and ${most}` : '';
    throw problem(expected || (Number.isFinite(least) ? `at least ${least}` : `at most ${most}`), `${low}`);
  }
  return { figure, wanted };
};

/** "crestDb=max", "integratedLufs=-16..-14", "stereo.correlation>=0.3", "sideToMidDb=-9". @throws ProblemError naming `asked` */
export const targetFrom = (text: string, asked: string): Target => {
  const [, name, sign, value] = PARTS.exec(text) ?? [];
  if (name === undefined || sign === undefined || value === undefined) {
    const expected = 'NAME=VALUE, NAME=LOW..HIGH, NAME=max, NAME=min, NAME>=VALUE or NAME<=VALUE';
    throw new ProblemError({ code: 'wrong-type', path: asked, expected, found: described(text) });
  }
  const place = `${asked} ${name}`;
  return checkedTarget(targetFigure(name, asked), wantedFrom(sign, value, place), place);
};

/** The targets, at most one for each figure. @throws ProblemError where a figure has two */
export const requireDistinct = (targets: readonly Target[], place: string): readonly Target[] => {
  const names = targets.map(({ figure }) => figure.name);
  const twice = names.find((name, n) => names.indexOf(name) !== n);
  if (twice === undefined) return targets;
  const expected = 'one target for each figure';
  throw new ProblemError({ code: 'duplicate-id', path: place, expected, found: `two for ${listed([twice])}` });
};
