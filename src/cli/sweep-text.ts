import type { FigureChange } from '../measure/change.ts';
import { DEFINITIONS } from '../measure/definitions/definitions.ts';
import { DETAIL_DEFINITIONS } from '../measure/definitions/detail-definitions.ts';
import type { Figures } from '../measure/figures.ts';
import { changeText, numberText } from '../measure/definitions/figure-text.ts';
import { CLOSED_DB } from '../session/schema.ts';
import type { SweepMarks, SweepRow } from '../blend/sweep/sweep.ts';
import { aligned } from './tables.ts';

const blendText = (db: number): string => (db <= CLOSED_DB ? '−∞' : numberText(db, 2));

const FIGURE_HEADINGS = ['LUFS', 'dBTP', 'crest dB', 'LRA LU', 'width dB', 'mono LU'];

const figureCells = (figures: Figures): string[] => [
  numberText(figures.integratedLufs, 2),
  numberText(figures.truePeakDbtp, 2),
  numberText(figures.crestDb, 2),
  numberText(figures.loudnessRangeLu, 2),
  numberText(figures.stereo.sideToMidDb, 2),
  numberText(figures.stereo.monoLossLu, 2),
];

const rowTable = (rows: readonly SweepRow[]): string => {
  const grid = rows.some(({ secondBlendDb }) => secondBlendDb !== undefined);
  return aligned([
    ['blend dB', ...(grid ? ['second dB'] : []), ...FIGURE_HEADINGS, 'slope dB/oct', 'onset dB', 'match dB', 'broken'],
    ...rows.map((row) => [
      blendText(row.blendDb),
      ...(grid ? [blendText(row.secondBlendDb!)] : []),
      ...figureCells(row),
      numberText(row.slopeDbPerOctave, 2),
      numberText(row.onsetToSustainDb, 2),
      changeText(row.matchGainDb, 2),
      row.guards
        .filter(({ pass }) => !pass)
        .map(({ name }) => name)
        .join(', ') || '-',
    ]),
  ]);
};

const LABELS = { ...DEFINITIONS, ...DETAIL_DEFINITIONS };

const markLines = ({ guards, brokenThroughout, audible, knees }: SweepMarks): string[] => [
  audible.sentence,
  ...brokenThroughout.map((guard) => `The guard "${guard}" is broken along the whole sweep.`),
  ...guards.map(({ guard, blendDb, breaks }) => `The guard "${guard}" breaks ${breaks} ${numberText(blendDb, 2)} dB.`),
  ...knees.map(({ figure, blendDb }) => `${LABELS[figure].label} has its knee at ${numberText(blendDb, 2)} dB.`),
];

interface SweepContent {
  readonly bus: string;
  readonly secondBus?: string;
  readonly rows: readonly SweepRow[];
  readonly marks: SweepMarks | null;
  readonly notes: readonly string[];
}

/** The readable answer of a sweep. */
export const sweepText = ({ bus, secondBus, rows, marks, notes }: SweepContent): string =>
  [
    `Blends of ${bus}${secondBus === undefined ? '' : ` and ${secondBus}`}, all figures before the mix bus, guards after its trim; match: to the loudness of the mix as the session has it\n`,
    rowTable(rows),
    [...notes, ...(marks ? markLines(marks) : [])].map((line) => `${line}\n`).join(''),
  ].join('\n');

/** The readable answer of --bring-up. */
export const bringUpText = (
  steps: readonly (Figures & { readonly bus: string | null; readonly change: FigureChange | null })[],
  down: number,
): string =>
  [
    `Buses pulled down by ${down} dB, then brought up one by one; all figures before the mix bus\n`,
    aligned([
      ['Brought up', ...FIGURE_HEADINGS, 'adds LU'],
      ...steps.map(({ bus, change, ...figures }) => [
        bus ?? '(all down)',
        ...figureCells(figures),
        changeText(change?.integratedLufs ?? null, 2),
      ]),
    ]),
  ].join('\n');
