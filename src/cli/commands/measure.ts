import { basename, dirname, resolve } from 'node:path';
import type { Command } from 'commander';
import { requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { SERIES_HOP, type TimeSeries } from '../../measure/time-series.ts';
import { ProblemError } from '../../session/problem.ts';
import type { Console } from '../console.ts';
import type { MeasuredFile, MeasuredSection, Wanted } from '../measure-file.ts';
import { measureFiles, measureOnTwo } from '../measure-threads.ts';
import { nameOption } from '../options.ts';
import { sectionsFrom } from '../section-list.ts';
import { allDefinitions, definitionsText } from '../definition-list.ts';
import { bandTable, detailTable, figureTable } from '../tables.ts';

/** "take.wav: 48000 Hz, 2 channels, 12.50 s" */
const fileLine = ({ file, sampleRate, channels, seconds }: MeasuredFile): string =>
  `${file}: ${sampleRate} Hz, ${channels} ${channels === 1 ? 'channel' : 'channels'}, ${seconds.toFixed(2)} s`;

/** A file or a section as a column of the table. */
interface Column {
  readonly heading: string;
  readonly measured: MeasuredFile | MeasuredSection;
}

const columnsOf = (all: readonly MeasuredFile[]): Column[] =>
  all.flatMap((measured) => {
    const sections = measured.sections ?? [];
    const file = all.length > 1 ? basename(measured.file) : '';
    const whole = { heading: file || (sections.length > 0 ? 'whole' : ''), measured };
    return [whole, ...sections.map((section) => ({ heading: `${file} ${section.name}`.trim(), measured: section }))];
  });

/** A note for mono files: as a rough both loudspeakers play it, and BS.1770-5 sums the powers of the channels. */
const monoLine = ({ file, channels }: MeasuredFile): string[] =>
  channels === 1
    ? [
        `\n${file} has one channel and is measured as such. As the rough of a session it is played by both loudspeakers and measures 3.01 LU higher.\n`,
      ]
    : [];

const measuredWords = ({ reasons, notes }: MeasuredFile | MeasuredSection) => ({ reasons, notes });

/** The readable answer: what each file is, then all files and sections side by side, then the bands of each. */
const textOf = (all: readonly MeasuredFile[], withBands: boolean): string => {
  const columns = columnsOf(all);
  const details = columns.flatMap(({ measured }) => measured.details ?? []);
  const bands = withBands ? columns : [];
  return [
    `${all.map(fileLine).join('\n')}\n`,
    figureTable(columns.map(({ heading, measured }) => ({ heading, figures: measured, ...measuredWords(measured) }))),
    ...(details.length > 0 ? [`\n${detailTable(details)}`] : []),
    ...all.flatMap(monoLine),
    ...bands.map(({ heading, measured }) => `\n${heading ? `${heading}\n` : ''}${bandTable(measured.bands)}`),
  ].join('');
};

/** Columns of the time series file, in their order. */
const SERIES = ['momentaryLufs', 'shortTermLufs', 'correlation', 'sideToMidDb', 'truePeakDbtp', 'psrDb'] as const;

/** One line for each 10 ms, with the time of its end; empty cells where there is no value. */
const seriesCsv = (series: TimeSeries): string => {
  const lines = [['seconds', ...SERIES].join(',')];
  for (let n = 0; n < series.truePeakDbtp.length; n++) {
    const values = SERIES.map((name) => series[name][n]!);
    const cells = values.map((value) => (Number.isFinite(value) ? value.toFixed(3) : ''));
    lines.push([((n + 1) * SERIES_HOP).toFixed(2), ...cells].join(','));
  }
  return `${lines.join('\n')}\n`;
};

const refuse = (path: string, expected: string, found: string): never => {
  throw new ProblemError({ code: 'mismatch', path, expected, found });
};

const measureWithSeries = async (files: readonly string[], wanted: Wanted, csv: string): Promise<MeasuredFile[]> => {
  const [file, ...more] = files;
  if (file === undefined || more.length > 0) return refuse('--series', 'one file to measure', `${files.length} files`);
  if (resolve(file) === resolve(csv)) refuse('--series', 'a new file', 'the one to measure');
  await requireWritable(dirname(csv));
  let text = '';
  const measured = await measureOnTwo(file, { ...wanted, details: true }, (series) => (text = seriesCsv(series)));
  await writeFilesWhole(dirname(csv), [{ name: basename(csv), content: text }]);
  return [measured];
};

/** A section may end this much after the end of the file, seconds; it is then cut. */
const AT_THE_END = 0.05;

/** Parts that can be measured alone. */
const PARTS = ['loudness'] as const;

interface MeasureOptions {
  readonly json?: true;
  readonly bands?: true;
  readonly details?: true;
  readonly series?: string;
  readonly sections?: string;
  readonly only?: (typeof PARTS)[number];
  readonly definitions?: true;
}

const measureAll = async (files: string[], options: MeasureOptions, console: Console): Promise<MeasuredFile[]> => {
  const { details, series, sections, only } = options;
  if (files.length === 0) refuse('measure', 'files to measure', 'none');
  if (only && (details || series !== undefined)) {
    refuse('--only', 'the whole of a file to be measured for --details and --series', `"${only}"`);
  }
  const wanted: Wanted = {
    only,
    details: details === true,
    sections: sections === undefined ? [] : await sectionsFrom(sections),
  };
  const measured =
    series === undefined
      ? await measureFiles(files, wanted, (file) => console.progress(`Measuring ${file}`))
      : await measureWithSeries(files, wanted, series);
  for (const { name, endSeconds } of wanted.sections)
    for (const { file, seconds } of measured)
      if (endSeconds > seconds + AT_THE_END)
        console.note(`Section "${name}" is cut at the end of ${file}, ${seconds.toFixed(2)} s.`);
  return measured;
};

export const addMeasure = (program: Command, console: Console): void => {
  program
    .command('measure')
    .description('Measures audio files: loudness, peaks, crest, stereo, spectrum.')
    .argument('[files...]', 'WAV, AIFF, CAF, FLAC, MP3, Ogg Vorbis or Opus files')
    .option('--bands', 'also show the third octaves in the table')
    .option('--details', 'more figures: PSR, noise floor, silence, correlation over time, slope, onsets')
    .option(
      '--sections <list>',
      'also measure sections: "verse:0-15.5,chorus:1:10-1:30", or a session file that has some',
    )
    .option('--series <csv>', 'write loudness, correlation, side to mid and true peak every 10 ms to this file')
    .option(
      '--only <part>',
      '"loudness": without stereo figures and third octaves, in less time',
      nameOption('--only', PARTS),
    )
    .option('--definitions', 'list the definition, unit, source and range of every figure; nothing is measured')
    .option('--json', 'one JSON document: an array with an object for each file')
    .action(async (files: string[], options: MeasureOptions) => {
      if (options.definitions) {
        console.out(options.json ? `${JSON.stringify(allDefinitions(), null, 2)}\n` : definitionsText());
        return;
      }
      const all = await measureAll(files, options, console);
      console.out(options.json ? `${JSON.stringify(all, null, 2)}\n` : textOf(all, options.bands === true));
    });
};
