import { changeOf } from '../../measure/change.ts';
import { DEFINITIONS, SINGLE_FIGURES, type SingleKey } from '../../measure/definitions/definitions.ts';
import { changeText, figureOf, numberText } from '../../measure/definitions/figure-text.ts';
import { matchedChangeOf } from '../../measure/levelled.ts';
import type { Figures } from '../../measure/figures.ts';
import { notePlace, noteState } from '../../session/client-notes.ts';
import { headroomOf } from '../../session/headroom.ts';
import type { Session } from '../../session/schema.ts';
import { plain, table } from './markdown.ts';
import { comparisonCharts, shareChart, type Compared } from '../page/charts.ts';
import { FLOW_STYLE, flowChart } from '../page/flow-chart.ts';
import type { FlowShares } from '../page/flow-geometry.ts';
import { htmlPage, markdownOf, type PagePart } from '../page/html-page.ts';
import { SOUND_STYLE, soundPart, soundPolicy, type ReportSound } from '../page/report-sound.ts';
import { changeSentences, workTable } from './report-work.ts';

/** One printed file in the report. */
interface ReportFile {
  readonly name: string;
  readonly kind: string;
  /** Name of the delivery target that it was printed for. */
  readonly target?: string;
  readonly bits: string;
  readonly sampleRate: number;
  /** Figures of the samples as written. */
  readonly figures: Figures;
}

/** Result of one guard in the report. */
export interface ReportGuard {
  readonly name: string;
  readonly bound: string;
  readonly limit: number;
  readonly unit: string;
  /** null: not judged. */
  readonly value: number | null;
  readonly pass: boolean;
  readonly sentence: string;
}

/** Change that one path makes to the loudness before the mix bus. */
export interface ReportPath {
  readonly name: string;
  readonly kind: string;
  readonly levelDb: number;
  /** Part of 1; null in silence. */
  readonly share: number | null;
  readonly changeLu: number | null;
}

/** Content of a report. */
export interface ReportContent {
  readonly title: string;
  readonly files: readonly ReportFile[];
  /** The reference of the mix: "rough as received". */
  readonly before: Compared;
  /** The mix as printed. */
  readonly after: Compared;
  /** Results of the guards on the mix, and on the main print: the same guards in the same order. */
  readonly guards: { readonly before: readonly ReportGuard[]; readonly after: readonly ReportGuard[] };
  readonly paths: readonly ReportPath[];
  /** Sources of the loudness of the mix, before the mix bus. */
  readonly flow: FlowShares;
  /** Results of blind trials, a sentence each. */
  readonly trials: readonly string[];
  readonly date: Date;
  /** Session whose rough, passes and trials are listed. */
  readonly session: Session;
  /** True peak of the sum before the trim, dBTP; null in silence. */
  readonly sumPeakDbtp: number | null;
  /** A short comparison to listen to; null or absent: there is none. */
  readonly sound?: ReportSound | null;
  /** Notes on the level of the prints, one sentence each. */
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
      ['File', 'Kind', 'Bits', 'Sample rate, Hz', ...FILE_FIGURES.map(named)],
      ...files.map(({ name, kind, target, bits, sampleRate, figures }) => [
        plain(name),
        target === undefined ? kind : `${kind} (${plain(target)})`,
        bits,
        String(sampleRate),
        ...FILE_FIGURES.map((key) => numberText(figureOf(figures, key), DEFINITIONS[key].decimals)),
      ]),
    ],
    [3, ...FILE_FIGURES.map((_, n) => n + 4)],
  );

const changeTable = ({ before, after }: ReportContent): string => {
  const change = changeOf(before.figures, after.figures);
  const matched = matchedChangeOf(before.figures, after.figures);
  return table(
    [
      [
        'Figure',
        `${before.name.slice(0, 1).toUpperCase()}${before.name.slice(1)}`,
        'Mix as printed',
        'Change',
        'At equal loudness',
      ],
      ...SINGLE_FIGURES.map((key) => {
        const { decimals } = DEFINITIONS[key];
        const cells = [before.figures, after.figures].map((figures) => numberText(figureOf(figures, key), decimals));
        const changes = [change, matched].map((each) => changeText(figureOf(each, key), decimals));
        return [named(key), ...cells, ...changes];
      }),
    ],
    [1, 2, 3, 4],
  );
};

const guardWords = ({ value, pass, unit }: ReportGuard): string =>
  value === null
    ? 'not judged'
    : [numberText(value, 2), unit, pass ? '(kept)' : '(**broken**)'].filter((word) => word !== '').join(' ');

const guardPart = ({ guards: { before, after } }: ReportContent): string => {
  if (after.length === 0) return 'No guard is on.\n';
  const broken = after.filter(({ pass }) => !pass);
  const rows = after.map((guard, n) => {
    const limit = `${guard.bound} ${guard.limit} ${guard.unit}`.trimEnd();
    return [guard.name, limit, guardWords(before[n]!), guardWords(guard)];
  });
  return [
    broken.length === 0
      ? 'The print keeps every guard.\n'
      : broken.map(({ sentence }) => `${plain(sentence)}\n`).join(''),
    table([['Guard', 'Limit', 'Mix', 'As printed'], ...rows], [1, 2, 3]),
  ].join('\n');
};

const ledgerPart = ({ paths }: ReportContent): string =>
  table(
    [
      ['Path', 'Kind', 'Level, dB', 'Share of loudness, %', 'Change of loudness, LU'],
      ...paths.map(({ name, kind, levelDb, share, changeLu }) => [
        plain(name),
        kind,
        numberText(levelDb, 1),
        numberText(share === null ? null : 100 * share, 1),
        changeText(changeLu, 2),
      ]),
    ],
    [2, 3, 4],
  );

/** Headroom of the sum of all paths below 0 dBTP at the input of the mix bus chain. */
const headroomPart = ({ sumPeakDbtp, session: { mixBus } }: ReportContent): string => {
  if (sumPeakDbtp === null) return 'The sum before the mix bus is silent.\n';
  const peak = numberText(sumPeakDbtp + mixBus.trimDb, 2);
  const headroom = numberText(headroomOf(sumPeakDbtp, mixBus.trimDb), 2);
  return `Headroom before the mix bus: ${headroom} dB (true peak of the sum ${peak} dBTP, with the trim of ${numberText(mixBus.trimDb, 2)} dB).\n`;
};

const workPart = ({ before, after, session }: ReportContent): string => {
  const { rough, passes, notes } = session;
  return [
    ...changeSentences(before.figures, after.figures, before.name).map((sentence) => `- ${sentence}\n`),
    `\nRough: ${rough ? plain(rough.file) : 'none'}. Passes: ${passes.length === 0 ? 'none' : passes.map(({ name }) => plain(name)).join(', ')}.\n`,
    ...(notes.trim() === '' ? [] : [`\n${plain(notes)}\n`]),
    `\n${workTable(session)}`,
  ].join('');
};

const trialPart = ({ trials }: ReportContent): readonly PagePart[] =>
  trials.length === 0 ? [] : [markdown('## Blind trials\n', trials.map((words) => `- ${plain(words)}\n`).join(''))];

/** Client notes and their state. */
const notesPart = ({ session }: ReportContent): readonly PagePart[] => {
  const { clientNotes } = session;
  if (clientNotes.length === 0) return [];
  const open = clientNotes.filter(({ done }) => done === null).length;
  const rows = clientNotes.map((note) => [
    notePlace(session, note),
    note.text,
    noteState(session, note),
    note.done?.answer ?? '',
  ]);
  return [
    markdown(
      '## Client notes\n',
      open === 0 ? 'All are answered.\n' : `${open} of ${clientNotes.length} still open.\n`,
      table([['Where', 'Note', 'State', 'Answer'], ...rows.map((row) => row.map((cell) => plain(cell)))]),
    ),
  ];
};

const definitions = (): string =>
  SINGLE_FIGURES.map((key) => {
    const { label, definition, source } = DEFINITIONS[key];
    return `- ${label}: ${definition} (${source})\n`;
  }).join('');

const markdown = (...lines: readonly string[]): PagePart => ({ markdown: lines.join('\n') });

const partsOf = (content: ReportContent): readonly PagePart[] => [
  markdown(
    `# Report: ${plain(content.title)}\n`,
    `Printed ${content.date.toISOString().slice(0, 16).replace('T', ' ')} UTC\n`,
    '## What was done\n',
    workPart(content),
  ),
  ...notesPart(content),
  markdown(
    ...(content.files.length === 0 ? [] : ['## Files\n', fileTable(content.files)]),
    ...content.levelNotes.map((note) => `${note}\n`),
    `## The mix against the ${content.before.name}\n`,
    'Both are measured without matching, the mix after the mix bus, as printed; the last column is the change that remains at equal loudness. Changes of LUFS are in LU, of dBTP and dBFS in dB.\n',
    changeTable(content),
  ),
  { drawing: comparisonCharts(content.before, content.after) },
  ...(content.sound ? [{ drawing: soundPart(content.sound) }] : []),
  markdown(
    '## Guards\n',
    guardPart(content),
    '## What each path does, before the mix bus\n',
    headroomPart(content),
    ledgerPart(content),
  ),
  { drawing: `${flowChart(content.flow, content.session)}${shareChart(content.paths)}` },
  ...trialPart(content),
  markdown('## How the figures are defined\n', definitions()),
];

/** The report on a print as Markdown: files, figures, changes. */
export const report = (content: ReportContent): string => markdownOf(partsOf(content));

/** The same as one HTML file, with charts, and with excerpts where there are some. */
export const reportPage = async (content: ReportContent): Promise<string> => {
  const { title, sound } = content;
  if (!sound) return htmlPage(`Report: ${title}`, partsOf(content), FLOW_STYLE);
  return htmlPage(`Report: ${title}`, partsOf(content), FLOW_STYLE + SOUND_STYLE, await soundPolicy());
};

/** The same as data. */
export const reportData = (content: ReportContent): string => {
  const { title, files, before, after, guards, paths, flow, sumPeakDbtp, date, session, levelNotes } = content;
  const { artist, passes, trials, clientNotes, mixBus } = session;
  const headroomDb = sumPeakDbtp === null ? null : headroomOf(sumPeakDbtp, mixBus.trimDb);
  return `${JSON.stringify(
    {
      ...{ title, artist, printed: date.toISOString(), files, notes: levelNotes },
      against: { name: before.name, figures: before.figures },
      ...{ mix: after.figures, change: changeOf(before.figures, after.figures), headroomDb, guards, paths, flow },
      changeAtEqualLoudness: matchedChangeOf(before.figures, after.figures),
      changeInWords: changeSentences(before.figures, after.figures, before.name),
      trialsInWords: content.trials,
      ...{ passes: passes.map(({ id, name, note }) => ({ id, name, note })), trials, clientNotes },
    },
    null,
    2,
  )}\n`;
};
