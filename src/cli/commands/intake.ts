import { readdir, stat } from 'node:fs/promises';
import { basename, dirname, join, relative, resolve, sep } from 'node:path';
import type { Command } from 'commander';
import { openBytes } from '../../files/node/node-wav-sound.ts';
import { readingProblem, requireNew, requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { roughAmong } from '../../intake/file-names.ts';
import { sessionOf } from '../../intake/make-session.ts';
import { effectWords } from '../../intake/checks/warning.ts';
import { songName } from '../../intake/song-name.ts';
import type { Incoming } from '../../intake/opened-file.ts';
import { receive } from '../../intake/receive.ts';
import { receivedPage } from '../../intake/received-page.ts';
import { trackNames, type Received } from '../../intake/received.ts';
import { roughSentences } from '../../intake/rough/rough-words.ts';
import { changeText, numberText } from '../../measure/definitions/figure-text.ts';
import { inFile, ProblemError } from '../../session/problem.ts';
import { sessionText } from '../../session/read/serialize.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { outsideSentence } from '../outside-sentence.ts';
import { PRINT_FIELDS } from '../print-fields.ts';
import { aligned } from '../tables.ts';

/** File name endings that count as sound. */
const SOUND = /\.(wav|wave|bwf|rf64|w64|aif|aiff|aifc|caf|flac|mp3|ogg|oga|opus)$/i;

/** Sound files in and below a folder, by path relative to it, sorted; hidden ones are left out. */
const soundFilesIn = async (folder: string): Promise<string[]> => {
  const entries = await readdir(folder, { recursive: true, withFileTypes: true }).catch((error: unknown) => {
    throw readingProblem(folder, error);
  });
  const paths = entries
    .filter((entry) => entry.isFile() && SOUND.test(entry.name))
    .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join('/'));
  return paths
    .filter((path) => !path.split('/').some((part) => part.startsWith('.')))
    .sort((a, b) => a.localeCompare(b, 'en', { numeric: true }));
};

const requireFolder = async (folder: string): Promise<void> => {
  const stats = await stat(folder).catch(() => null);
  if (stats?.isDirectory()) return;
  const expected = 'a folder with the tracks';
  if (stats) throw new ProblemError({ code: 'mismatch', path: folder, expected, found: 'a file' });
  throw new ProblemError({ code: 'missing-file', path: folder, expected, found: 'nothing there' });
};

/** The rough, by the option or by the names of the files: its path relative to the folder, or as given. */
const roughPath = (folder: string, files: readonly string[], given: string | undefined): string | null => {
  if (given === undefined) return roughAmong(files);
  const inside = relative(folder, given).split(sep).join('/');
  return files.includes(inside) ? inside : given;
};

/** Runs the steps. @throws ProblemError naming the folder where the problem concerns all its files */
const receivedBy = async (steps: ReturnType<typeof receive>, folder: string, console: Console): Promise<Received> => {
  try {
    for (;;) {
      const next = await steps.next();
      if (next.done) return next.value;
      console.progress(next.value.what, next.value.done);
    }
  } catch (error) {
    if (error instanceof ProblemError && error.problem.path === '')
      throw new ProblemError(inFile(folder, error.problem));
    throw error;
  }
};

const answerOf = (received: Received, session: string | null) => {
  const { tracks, rough, aside, guesses, isPlacedByTime } = received;
  const fileOf = ({
    file,
    facts,
    sampleRate,
    channels,
    frames,
    figures,
    warnings,
  }: Omit<Received['tracks'][number], 'told' | 'startSeconds'>) => ({
    ...{ file, sampleRate, channels, seconds: frames / sampleRate, bits: facts.bits, format: facts.kind },
    ...figures,
    warnings,
  });
  return {
    session,
    files: tracks.map((track) => ({
      ...fileOf(track),
      track: track.told.name,
      group: track.told.group,
      startSeconds: track.startSeconds,
    })),
    isPlacedByTime,
    aside,
    guesses,
    rough: rough && roughAnswer(received, rough, fileOf(rough)),
  };
};

const roughAnswer = ({ tracks }: Received, rough: NonNullable<Received['rough']>, file: object) => {
  const { tracks: found, leftover, ...explained } = rough.explained;
  return {
    ...explained,
    sampleRate: rough.comparedAt,
    tracks: found.map(({ twins, ...track }, n) => ({
      file: tracks[n]!.file,
      ...track,
      notSeparableFrom: twins.map((twin) => tracks[twin]!.file),
    })),
    left: {
      ...leftover,
      owner: leftover.owner && { file: tracks[leftover.owner.track]!.file, levelDb: leftover.owner.levelDb },
    },
    sentences: roughSentences(rough.explained, trackNames({ tracks })),
    file,
  };
};

const warningLines = ({ tracks, rough }: Received): string[] =>
  [...tracks, ...(rough ? [rough] : [])].flatMap(({ file, warnings }) =>
    warnings.map(
      ({ code, message, todo, effect }) =>
        `${file} [${code}]: ${message} ${todo}${effect ? ` With the fix: ${effectWords(effect)}.` : ''}`,
    ),
  );

const readable = (received: Received, session: string | null, outside: string | null): string => {
  const { tracks, rough, aside } = received;
  const found = rough?.explained.tracks;
  const table = aligned(
    [
      ['File', 'track', 'group', 'LUFS', 'dBTP', ...(found ? ['in the rough dB', '±', 'pan', 'sure'] : [])],
      ...tracks.map(({ file, told, figures }, n) => {
        const own = found?.[n];
        const place = own
          ? [
              own.gainDb === null ? (own.twins.length > 0 ? 'ambiguous' : 'not in it') : changeText(own.gainDb, 2),
              numberText(own.errorDb, 2),
              numberText(own.pan, 2),
              own.gainDb === null ? '' : own.levels.length > 1 ? 'moves' : `${Math.round(100 * own.confidence)} %`,
            ]
          : [];
        return [
          file,
          told.name,
          told.group ?? '',
          numberText(figures.integratedLufs, 1),
          numberText(figures.truePeakDbtp, 1),
          ...place,
        ];
      }),
    ],
    [1, 2],
  );
  const warnings = warningLines(received);
  return [
    table,
    ...(rough
      ? [`\n${rough.file}\n`, ...roughSentences(rough.explained, trackNames(received)).map((line) => `${line}\n`)]
      : []),
    `\n${warnings.length === 0 ? 'Nothing is wrong with the files.' : warnings.join('\n')}\n`,
    ...aside.map(({ file, reason }) => `Left aside: ${file}: ${reason}\n`),
    guessLines(received),
    session === null ? '\nNo session was written: --out FILE writes one.\n' : `\nSession: ${session}\n`,
    outside === null ? '' : `${outside}\n`,
  ].join('');
};

/** Estimated tempo and sections, marked as estimates. */
const guessLines = ({ guesses: { time, sections } }: Received): string => {
  const percent = (share: number): string => `${Math.round(100 * share)} %`;
  const tempo = time
    ? `Estimated, not written to the session: ${time.tempo} quarter notes a minute (${percent(time.confidence)}${time.alternatives.map((other) => `; ${other.tempo}: ${percent(other.confidence)}`).join('')}), the first bar at ${time.downbeat.seconds.toFixed(2)} s (${percent(time.downbeat.confidence)})`
    : 'No tempo could be estimated';
  const starts = sections
    .slice(1)
    .map(({ startSeconds, confidence }) => `${startSeconds.toFixed(1)} s (${percent(confidence)})`);
  return `\n${tempo}${starts.length > 0 ? `; sections from ${starts.join(', ')}` : ''}.\n`;
};

interface IntakeOptions {
  readonly rough?: string;
  readonly out?: string;
  readonly lines?: true;
  readonly page?: string;
  readonly title?: string;
  readonly rate?: number;
  readonly force?: true;
  readonly allowOutside?: true;
  readonly json?: true;
}

const runIntake = async (
  folder: string,
  { rough, out, lines, page, title, rate, force, allowOutside, json }: IntakeOptions,
  console: Console,
): Promise<void> => {
  await requireFolder(folder);
  const files = await soundFilesIn(folder);
  const chosen = roughPath(folder, files, rough);
  const onDisk = (file: string): string => (files.includes(file) ? join(folder, file) : file);
  const tracks = files.filter((file) => file !== chosen);
  if (tracks.length === 0) {
    throw new ProblemError({
      code: 'missing-file',
      path: folder,
      expected: 'tracks (WAV, AIFF, CAF, FLAC, MP3 or Ogg files)',
      found: 'none',
    });
  }
  const written = [out, page].filter((path) => path !== undefined);
  await keepInputs(written, [...tracks, ...(chosen === null ? [] : [chosen])].map(onDisk));
  for (const path of written) {
    await requireWritable(dirname(path));
    if (!force) await requireNew(dirname(path), [basename(path)], 'another name, or --force to replace what is there');
  }
  const incoming = (file: string): Incoming => ({ file, open: () => openBytes(onDisk(file)) });
  const steps = receive(tracks.map(incoming), chosen === null ? null : incoming(chosen));
  const received = await receivedBy(steps, folder, console);
  const called = title ?? songName(resolve(folder).split(sep)) ?? basename(resolve(folder));
  if (page !== undefined) {
    const content = receivedPage(received, called, trackNames(received));
    await writeFilesWhole(dirname(page), [{ name: basename(page), content }]);
  }
  if (out !== undefined) {
    const pathOf = (file: string): string =>
      relative(dirname(resolve(out)), resolve(onDisk(file)))
        .split(sep)
        .join('/');
    const session = sessionOf(received, called, pathOf, lines, rate);
    await writeFilesWhole(dirname(out), [{ name: basename(out), content: sessionText(session) }]);
  }
  const given = [...tracks, ...(chosen === null ? [] : [chosen])].map((file) => resolve(onDisk(file)));
  const isOutside = out !== undefined && given.some((path) => relative(dirname(resolve(out)), path).startsWith('..'));
  const outside = isOutside && !allowOutside ? outsideSentence(out) : null;
  const answer = { ...answerOf(received, out ?? null), ...(outside === null ? {} : { note: outside }) };
  console.out(json ? `${JSON.stringify(answer, null, 2)}\n` : readable(received, out ?? null, outside));
};

export const addIntake = (program: Command, console: Console): void => {
  program
    .command('intake')
    .description('Checks every received file, explains the rough by its tracks, and makes a session of them.')
    .argument('<folder>', 'a folder with the tracks, and the rough where it is not given')
    .option('--rough <file>', 'the rough mix; by default the file that is called rough or mix')
    .option('--out <session>', 'the session file to write; by default the files are checked only')
    .option('--lines', 'write levels that move in the rough as lines of the session')
    .option('--page <page>', 'write the results as one HTML page')
    .option('--title <title>', "the song's title; by default the folder's name")
    .option('--rate <Hz>', "the session's sample rate; by default that of most files", PRINT_FIELDS.rate('--rate'))
    .option('--force', 'replaces a session or page that is there already')
    .option('--allow-outside', 'the session may name files outside of its folder, without a note')
    .option('--json', 'one JSON document')
    .action((folder: string, options: IntakeOptions) => runIntake(folder, options, console));
};
