import { changeOf } from '../measure/change.ts';
import { DEFINITIONS, SINGLE_FIGURES, type SingleKey } from '../measure/definitions.ts';
import { changeText, figureOf, numberText } from '../measure/figure-text.ts';
import type { Figures } from '../measure/figures.ts';
import { plain, table } from './markdown.ts';

/** One printed file as the report lists it. */
export interface ReportFile {
  readonly name: string;
  readonly kind: string;
  readonly bits: string;
  readonly sampleRate: number;
  /** Of the samples as they were written. */
  readonly figures: Figures;
}

/** What a report tells. */
export interface ReportContent {
  readonly title: string;
  readonly files: readonly ReportFile[];
  /** What the mix is compared with, and how that is called: "rough as received". */
  readonly before: { readonly name: string; readonly figures: Figures };
  /** The mix as printed. */
  readonly after: Figures;
  /** What was done to the level on the way out, one sentence each. */
  readonly levelNotes: readonly string[];
}

const FILE_FIGURES = SINGLE_FIGURES.filter((key) => DEFINITIONS[key].places?.includes('files'));

const named = (key: SingleKey): string => {
  const { label, unit } = DEFINITIONS[key];
  return unit === '' || unit === 'samples' ? label : `${label}, ${unit}`;
};

const fileTable = (files: readonly ReportFile[]): string =>
  table(
    [
      ['File', 'Kind', 'Bits', 'Rate, Hz', ...FILE_FIGURES.map(named)],
      ...files.map(({ name, kind, bits, sampleRate, figures }) => [
        plain(name),
        kind,
        bits,
        String(sampleRate),
        ...FILE_FIGURES.map((key) => numberText(figureOf(figures, key), DEFINITIONS[key].decimals)),
      ]),
    ],
    [3, ...FILE_FIGURES.map((_, n) => n + 4)],
  );

const changeTable = ({ before, after }: ReportContent): string => {
  const change = changeOf(before.figures, after);
  return table(
    [
      ['Figure', before.name, 'Mix as printed', 'Change'],
      ...SINGLE_FIGURES.map((key) => {
        const { decimals } = DEFINITIONS[key];
        const cells = [before.figures, after].map((figures) => numberText(figureOf(figures, key), decimals));
        return [named(key), ...cells, changeText(figureOf(change, key), decimals)];
      }),
    ],
    [1, 2, 3],
  );
};

const definitions = (): string =>
  SINGLE_FIGURES.map((key) => {
    const { label, definition, source } = DEFINITIONS[key];
    return `- ${label}: ${definition} (${source})\n`;
  }).join('');

/** The report that goes with printed files, as Markdown: what was printed, how it measures, what changed. */
export const report = (content: ReportContent): string =>
  [
    `# Report: ${plain(content.title)}\n`,
    '## Files\n',
    fileTable(content.files),
    ...content.levelNotes.map((note) => `${note}\n`),
    `## The mix against the ${content.before.name}\n`,
    'Both measured as they are, without matching their loudness; the mix after the mix bus, as printed. Changes of LUFS are in LU, of dBTP and dBFS in dB.\n',
    changeTable(content),
    '## How the figures are defined\n',
    definitions(),
  ].join('\n');
