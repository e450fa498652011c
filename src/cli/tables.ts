import { DEFINITIONS, SINGLE_FIGURES } from '../measure/definitions/definitions.ts';
import { DETAIL_DEFINITIONS } from '../measure/definitions/detail-definitions.ts';
import type { Details } from '../measure/details.ts';
import { changeText, figureOf, numberText } from '../measure/definitions/figure-text.ts';
import type { BandFigures, Figures } from '../measure/figures.ts';

/** Rows of cells as lines of text: the first column and those in `left` are left-aligned, the others right-aligned. */
export const aligned = (rows: readonly (readonly string[])[], left: readonly number[] = []): string => {
  const count = Math.max(0, ...rows.map((row) => row.length));
  const widths = Array.from({ length: count }, (_, n) => Math.max(...rows.map((row) => row[n]?.length ?? 0)));
  const line = (row: readonly string[]): string =>
    row
      .map((cell, n) => (n === 0 || left.includes(n) ? cell.padEnd(widths[n]!) : cell.padStart(widths[n]!)))
      .join('  ')
      .trimEnd();
  return rows.map((row) => `${line(row)}\n`).join('');
};

/** One column of a table of figures. */
interface FigureColumn {
  readonly heading: string;
  readonly figures: Figures;
  /** A change is written with its sign. */
  readonly isChange?: boolean;
  /** Reasons for missing figures, by key; shown in a last column. */
  readonly reasons?: Readonly<Record<string, string>>;
  /** Remarks on existing figures, shown there too. */
  readonly notes?: Readonly<Record<string, string>>;
}

/** Figure by figure, one line each, with units: the columns side by side. */
export const figureTable = (columns: readonly FigureColumn[]): string => {
  const heading = columns.some((column) => column.heading !== '') ? [['', ...columns.map((c) => c.heading)]] : [];
  const rows = SINGLE_FIGURES.map((key) => {
    const { label, unit, decimals } = DEFINITIONS[key];
    const cells = columns.map(({ figures, isChange }) =>
      (isChange ? changeText : numberText)(figureOf(figures, key), decimals),
    );
    const told = columns.flatMap(({ reasons, notes }) => reasons?.[key] ?? notes?.[key] ?? []);
    return [label, ...cells, unit, ...(told.length > 0 ? [`(${[...new Set(told)].join('; ')})`] : [])];
  });
  return aligned([...heading, ...rows], [columns.length + 1, columns.length + 2]);
};

/** Detail by detail, one line each, with units: the columns side by side. The mono loss of the bands is left out. */
export const detailTable = (columns: readonly Details[]): string =>
  aligned(
    Object.entries(DETAIL_DEFINITIONS).flatMap(([key, { label, unit, decimals }]) => {
      const values = columns.map((details) => details[key as keyof Details]);
      if (values.some((value) => typeof value === 'object' && value !== null)) return [];
      return [[label, ...values.map((value) => numberText(value as number | null, decimals)), unit]];
    }),
    [columns.length + 1],
  );

/** "31.5 Hz", "1.25 kHz": the nominal name of a third octave. */
const bandName = (hz: number): string => {
  const nominal = Number(hz.toPrecision(3));
  return nominal >= 1000 ? `${nominal / 1000} kHz` : `${nominal} Hz`;
};

/** The third octaves, one line each. */
export const bandTable = (bands: readonly BandFigures[]): string =>
  aligned([
    ['Third octave', 'level dB', 'side to mid dB'],
    ...bands.map(({ hz, levelDb, sideToMidDb }) => [bandName(hz), numberText(levelDb, 1), numberText(sideToMidDb, 1)]),
  ]);

/** Files and their sizes, one line each. */
export const fileTable = (files: readonly { readonly path: string; readonly bytes: number }[]): string =>
  aligned(files.map(({ path, bytes }) => [path, `${bytes} bytes`]));
