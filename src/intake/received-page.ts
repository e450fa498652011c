import { plain, table } from '../files/report/markdown.ts';
import { htmlPage, type PagePart } from '../files/page/html-page.ts';
import { changeText, numberText } from '../measure/definitions/figure-text.ts';
import { effectWords } from './checks/warning.ts';
import { bandChart, courseChart, levelChart } from './received-charts.ts';
import { panWords } from './pan-words.ts';
import { inRough, type Received } from './received.ts';
import { roughSentences } from './rough/rough-words.ts';
import type { TrackInRough } from './rough/track-in-rough.ts';

const timeText = (seconds: number): string => {
  const tenths = Math.round(10 * seconds);
  return `${Math.floor(tenths / 600)}:${((tenths % 600) / 10).toFixed(1).padStart(4, '0')}`;
};

/** The level of a track in the rough in words; where it moves, each level with the time from which it holds. */
const levelText = (found: TrackInRough, names: readonly string[]): string => {
  if (found.twins.length > 0) return `not separable from ${found.twins.map((twin) => plain(names[twin]!)).join(', ')}`;
  if (found.gainDb === null) return 'not in it';
  if (found.levels.length < 2) return changeText(found.gainDb, 2);
  return found.levels
    .map(({ startSeconds, gainDb }) => `${changeText(gainDb, 1)} from ${timeText(startSeconds)}`)
    .join(', ');
};

const trackTable = (received: Received, names: readonly string[]): string =>
  table(
    [
      ['Track', 'Level, dB', 'Error, dB', 'Pan', 'Certainty, %'],
      ...names.map((name, n) => {
        const found = inRough(received, n)!;
        const isTold = found.gainDb !== null;
        return [
          plain(name),
          levelText(found, names),
          isTold ? numberText(found.errorDb, 2) : '',
          found.pan === null ? '' : panWords(found.pan, found.panError),
          isTold ? `${Math.round(100 * found.confidence)}` : '',
        ];
      }),
    ],
    [2, 3, 4],
  );

const roughParts = (received: Received, names: readonly string[]): PagePart[] => {
  const { rough } = received;
  if (!rough) return [{ markdown: 'There is no rough.\n' }];
  const { explained } = rough;
  const sentences = roughSentences(explained, names).map((each) => `${plain(each)}\n`);
  const head = { markdown: ['## The rough by its tracks\n', `${plain(rough.file)}\n`, ...sentences].join('\n') };
  if (explained.lagSamples === null) return [head];
  const levels = names.flatMap((name, n) => {
    const { gainDb, errorDb } = inRough(received, n)!;
    return gainDb === null || errorDb === null ? [] : [{ name, levelDb: gainDb, errorDb }];
  });
  const { response, leftover } = explained;
  const left = { low: -48, high: 6, step: 12 };
  return [
    head,
    {
      markdown: `\n${trackTable(received, names)}\nA level is that from the file to the rough, all included; where it moves, the table has them all and the chart that of the longest stretch. Certainty: that the level is right within 0.5 dB.\n`,
    },
    {
      drawing: [
        levelChart('Levels in the rough with their 95 % errors, dB', levels),
        bandChart(
          'Filter that the whole rough went through, dB',
          response.map(({ hz, gainDb }) => ({ hz, value: gainDb })),
          { low: -12, high: 12, step: 6 },
        ),
        bandChart(
          'What the tracks do not explain, by third octave, dB beside the rough',
          leftover.bands.map(({ hz, levelDb }) => ({ hz, value: levelDb })),
          left,
        ),
        courseChart('What the tracks do not explain, over the song, dB beside the rough', leftover.course, left),
      ].join('\n'),
    },
  ];
};

const fileParts = ({ tracks, rough, aside }: Received): string => {
  const rows = [...tracks, ...(rough ? [rough] : [])].map(({ file, sampleRate, channels, frames, facts, figures }) => [
    plain(file),
    String(sampleRate),
    facts.bits === null ? '' : String(facts.bits),
    String(channels),
    timeText(frames / sampleRate),
    numberText(figures.integratedLufs, 1),
    numberText(figures.truePeakDbtp, 1),
  ]);
  const found = [...tracks, ...(rough ? [rough] : [])].flatMap(({ file, warnings }) =>
    warnings.map(({ message, todo, effect }) => {
      const fixed = effect ? ` With the fix: ${plain(effectWords(effect))}.` : '';
      return `- ${plain(file)}: ${plain(message)} ${plain(todo)}${fixed}\n`;
    }),
  );
  return [
    '## Files\n',
    table([['File', 'Rate, Hz', 'Bits', 'Channels', 'Length', 'LUFS', 'dBTP'], ...rows], [1, 2, 3, 4, 5, 6]),
    '## Found in the files\n',
    found.length === 0 ? 'Nothing is wrong with the files.\n' : found.join(''),
    ...aside.map(({ file, reason }) => `- ${plain(file)} was left aside: ${plain(reason)}\n`),
  ].join('\n');
};

const guessText = ({ guesses: { time, sections } }: Received): string => {
  const percent = (share: number): string => `${Math.round(100 * share)} %`;
  const tempo = time
    ? [time, ...time.alternatives]
        .map(({ tempo: beats, confidence }) => `${beats} BPM (${percent(confidence)})`)
        .join(', ')
    : 'none';
  const starts = sections
    .slice(1)
    .map(({ startSeconds, confidence }) => `${timeText(startSeconds)} (${percent(confidence)})`);
  return `## Guessed, and not taken\n\nTempo: ${tempo}. Sections from: ${starts.length > 0 ? starts.join(', ') : 'none'}.\n`;
};

/** What was received, as one HTML page: the rough by its tracks, what each file is like and what is wrong with it. `names` are those of the tracks. */
export const receivedPage = (received: Received, title: string, names: readonly string[]): string =>
  htmlPage(`Received: ${title}`, [
    { markdown: `# Received: ${plain(title)}\n` },
    ...roughParts(received, names),
    { markdown: `\n${fileParts(received)}\n${guessText(received)}` },
  ]);
