import type { Command } from 'commander';
import { join } from 'node:path';
import { requireWritable, writeFilesWhole } from '../../files/node-files.ts';
import {
  allPrintNames,
  PRINT_KINDS,
  printSong,
  type PrintKind,
  type PrintOrder,
  type PrintSounds,
} from '../../files/print-song.ts';
import type { ReportContent } from '../../files/report.ts';
import type { WavBits } from '../../files/wav-write.ts';
import { measure } from '../../measure/measure.ts';
import { mainPrint, printableOf, sumPrint } from '../../render/print.ts';
import type { Session } from '../../session/schema.ts';
import { VARIANTS } from '../../session/variants.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { nameOption, namesOption, numberOption, wholeOption } from '../options.ts';
import { requireVoices, SessionRenderer } from '../render-session.ts';
import { inputPaths, readSessionFromDisk, type SessionOnDisk } from '../session-on-disk.ts';
import { figureTable } from '../tables.ts';

interface Options {
  readonly out: string;
  readonly bits: WavBits;
  readonly rate?: number;
  readonly kinds: readonly PrintKind[];
  readonly target?: number;
  readonly ceiling?: number;
  readonly json?: true;
}

/** What the mix is compared with: the rough where there is one, else the tracks alone. */
const comparedWith = async (disk: SessionOnDisk, renderer: SessionRenderer): Promise<ReportContent['before']> => {
  if (disk.rough) return { name: 'rough as received', figures: measure(disk.rough) };
  const { plan, paths } = await renderer.received();
  return { name: 'tracks as received', figures: measure(sumPrint(plan, paths)) };
};

/** @throws ProblemError when prints cannot stand in `out`, or would write over what is read */
const requirePlace = async (session: Session, path: string, out: string): Promise<void> => {
  await requireWritable(out);
  await keepInputs(
    allPrintNames(session).map((name) => join(out, `${name}.wav`)),
    inputPaths(session, path),
  );
};

const runBounce = async (path: string, options: Options, console: Console): Promise<void> => {
  const { out, bits, kinds, json } = options;
  const disk = await readSessionFromDisk(
    path,
    (file, done) => console.progress(`Reading ${file}`, done),
    (parsed) => {
      for (const kind of VARIANTS) if (kinds.includes(kind)) requireVoices(parsed, path, kind);
      return requirePlace(parsed, path, out);
    },
  );
  const { session } = disk;
  const renderer = new SessionRenderer(disk, path, (done) => console.progress('Rendering', done));
  const { plan, paths } = await renderer.mix();
  const order: PrintOrder = {
    ...{ bits, kinds, rate: options.rate ?? null },
    ...{ targetLufs: options.target ?? null, ceilingDbtp: options.ceiling ?? null },
  };
  const sounds: PrintSounds = {
    ...printableOf(plan, paths),
    variant: async (variant) => {
      const rendered = await renderer.variant(variant);
      return mainPrint(rendered.plan, rendered.paths);
    },
    before: () => comparedWith(disk, renderer),
  };
  const printed = await printSong(session, order, sounds, {
    hold: (bytes) => bytes,
    pace: (done) => Promise.resolve(console.progress('Printing', done)),
    targetName: '--target',
  });
  const { prints, sampleRate, gainDb, notes, mix } = printed;
  const texts = [printed.report, printed.recallSheet];
  await writeFilesWhole(out, [...prints, ...texts]);

  const [reportPath, recallPath] = texts.map(({ name }) => join(out, name));
  const files = prints.map(({ name, kind, figures }) => ({
    path: join(out, name),
    kind,
    bits,
    sampleRate,
    ...figures,
  }));
  if (json) {
    const answer = { files, report: reportPath, recallSheet: recallPath, gainDb, notes };
    console.out(`${JSON.stringify(answer, null, 2)}\n`);
    return;
  }
  for (const file of files) console.out(`${file.path}: ${bits} bit, ${sampleRate} Hz\n`);
  console.out(`${reportPath}\n${recallPath}\n\n${notes.join('\n')}\n\n`);
  console.out(figureTable([{ heading: 'mix as printed', figures: mix }]));
};

export const addBounce = (program: Command, console: Console): void => {
  program
    .command('bounce')
    .description('Prints a session: WAV files, a report and a recall sheet. All is written, or nothing.')
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .requiredOption('--out <folder>', 'where the files go; made if it is not there')
    .option('--bits <bits>', '16, 24 or 32f', nameOption('--bits', ['16', '24', '32f']), '24')
    .option('--rate <Hz>', 'sample rate; that of the session if not given', wholeOption('--rate', 'Hz', 8000, 192_000))
    .option(
      '--kinds <kinds>',
      'main (the mix), instrumental, voices, stems (one file a group and bus), or several with commas between',
      namesOption('--kinds', PRINT_KINDS),
      ['main'],
    )
    .option(
      '--target <LUFS>',
      'brings the mix to this loudness, by gain alone',
      numberOption('--target', 'LUFS', -70, 0),
    )
    .option(
      '--ceiling <dBTP>',
      'the mix is turned down where its true peak would cross this; -1 where there is a target',
      numberOption('--ceiling', 'dBTP', -40, 0),
    )
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runBounce(path, options, console));
};
