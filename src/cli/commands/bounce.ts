import type { Command } from 'commander';
import { join } from 'node:path';
import type { Audio } from '../../dsp/audio.ts';
import { resample } from '../../dsp/resample.ts';
import { requireWritable, writeFilesWhole, type NewFile } from '../../files/node-files.ts';
import { printNames } from '../../files/print-names.ts';
import { recallSheet } from '../../files/recall-sheet.ts';
import { report, type ReportContent } from '../../files/report.ts';
import { readWav } from '../../files/wav-read.ts';
import { writeWav, type WavBits } from '../../files/wav-write.ts';
import { numberText } from '../../measure/figure-text.ts';
import type { Measurement } from '../../measure/figures.ts';
import { measure } from '../../measure/measure.ts';
import { LONGEST_TAIL_SECONDS } from '../../render/make-plan.ts';
import { mainPrint, stemPrint, sumPrint } from '../../render/print.ts';
import type { Session } from '../../session/schema.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { nameOption, namesOption, numberOption, wholeOption } from '../options.ts';
import { planLevel, withGain, type LevelPlan } from '../print-level.ts';
import { requireVoices, SessionRenderer, type Rendered } from '../render-session.ts';
import { inputPaths, readSessionFromDisk, type SessionOnDisk } from '../session-on-disk.ts';
import { figureTable } from '../tables.ts';

/**
 * main: the mix after the mix bus; instrumental and voices: the same without the voice groups, or with them alone, at
 * the gain of the main print. stems: one file a path, before the mix bus; together they are the mix before it.
 */
const VARIANTS = ['instrumental', 'voices'] as const;
const KINDS = ['main', ...VARIANTS, 'stems'] as const;
type Kind = (typeof KINDS)[number];

interface Options {
  readonly out: string;
  readonly bits: WavBits;
  readonly rate?: number;
  readonly kinds: readonly Kind[];
  readonly target?: number;
  readonly ceiling?: number;
  readonly json?: true;
}

/** One file in print: what goes to disk, and what it measures as written. */
interface Print {
  readonly name: string;
  readonly kind: Kind;
  readonly content: Uint8Array;
  readonly audio: Audio;
  readonly figures: Measurement;
  readonly clipped: number;
}

const print = (name: string, kind: Kind, audio: Audio, bits: WavBits, seed: number): Print => {
  const { bytes, clippedSamples } = writeWav(audio, bits, { seed });
  const written = readWav(bytes, name);
  return { name, kind, content: bytes, audio: written, figures: measure(written), clipped: clippedSamples };
};

const TAIL_NOTE = `A tail sounds on for more than ${LONGEST_TAIL_SECONDS} s after the song; the prints fade out there.`;

const clipNote = ({ name, clipped }: Print): string =>
  `${clipped} samples of ${name} clipped at full scale; print with --bits 32f, or lower the level.`;

/** Stems of all paths that give something, each with a dither of its own. */
const printStems = ({ session }: SessionOnDisk, { plan, paths }: Rendered, rate: number, bits: WavBits): Print[] => {
  const names = printNames(session).stems;
  return plan.paths
    .filter(({ gain }) => gain !== 0)
    .map(({ id }, n) =>
      print(`${names.get(id)!}.wav`, 'stems', resample(stemPrint(plan, paths, id), rate), bits, n + 2),
    );
};

/** The variants that are asked for, through the mix bus and at the gain of the main print. */
const printVariants = async (
  renderer: SessionRenderer,
  main: string,
  { kinds, bits }: Options,
  rate: number,
  gainDb: number,
): Promise<Print[]> => {
  const prints: Print[] = [];
  for (const [n, kind] of VARIANTS.entries()) {
    if (!kinds.includes(kind)) continue;
    const { plan, paths } = await renderer.variant(kind);
    const mix = withGain(resample(mainPrint(plan, paths), rate), gainDb);
    prints.push(print(`${main} - ${kind}.wav`, kind, mix, bits, VARIANT_SEED + n));
  }
  return prints;
};

/** What whoever sums the stems must know. */
const stemNote = (trimDb: number): string =>
  `The stems are at the level of the mix before the mix bus${trimDb === 0 ? '' : ` and its trim of ${numberText(trimDb, 1)} dB`}.`;

/** Dither seeds of the variants: beyond those of the stems. */
const VARIANT_SEED = 1000;

/** What the mix is compared with: the rough where there is one, else the tracks alone. */
const comparedWith = async (disk: SessionOnDisk, renderer: SessionRenderer): Promise<ReportContent['before']> => {
  if (disk.rough) return { name: 'rough as received', figures: measure(disk.rough) };
  const { plan, paths } = await renderer.received();
  return { name: 'tracks as received', figures: measure(sumPrint(plan, paths)) };
};

/** @throws ProblemError when prints cannot stand in `out`, or would write over what is read */
const requirePlace = async (session: Session, path: string, out: string): Promise<void> => {
  await requireWritable(out);
  const { main, stems } = printNames(session);
  const planned = [main, ...stems.values(), ...VARIANTS.map((kind) => `${main} - ${kind}`)];
  await keepInputs(
    planned.map((name) => join(out, `${name}.wav`)),
    inputPaths(session, path),
  );
};

const runBounce = async (path: string, options: Options, console: Console): Promise<void> => {
  const { out, bits, kinds, target = null, ceiling = null, json } = options;
  const disk = await readSessionFromDisk(
    path,
    (file, done) => console.progress(`Reading ${file}`, done),
    (parsed) => {
      for (const kind of VARIANTS) if (kinds.includes(kind)) requireVoices(parsed, path, kind);
      return requirePlace(parsed, path, out);
    },
  );
  const { session } = disk;
  const names = printNames(session);
  const renderer = new SessionRenderer(disk, path, (done) => console.progress('Rendering', done));
  const rendered = await renderer.mix();
  console.progress('Printing');
  const rate = options.rate ?? session.sampleRate;
  const mix = resample(mainPrint(rendered.plan, rendered.paths), rate);
  const level: LevelPlan = planLevel(measure(mix), { targetLufs: target, ceilingDbtp: ceiling });
  const main = print(`${names.main}.wav`, 'main', withGain(mix, level.gainDb), bits, 1);
  const stems = kinds.includes('stems') ? printStems(disk, rendered, rate, bits) : [];
  const variants = await printVariants(renderer, names.main, options, rate, level.gainDb);
  const prints = [...(kinds.includes('main') ? [main] : []), ...variants, ...stems];

  const notes = [
    ...(kinds.some((kind) => kind !== 'stems') ? [level.note] : []),
    ...(stems.length > 0 ? [stemNote(session.mixBus.trimDb)] : []),
    ...(rendered.plan.tailCut ? [TAIL_NOTE] : []),
    ...prints.filter(({ clipped }) => clipped > 0).map(clipNote),
  ];
  console.progress('Writing the report');
  const texts: NewFile[] = [
    {
      name: `${names.main} - report.md`,
      content: report({
        title: session.title,
        files: prints.map(({ name, kind, figures }) => ({ name, kind, bits, sampleRate: rate, figures })),
        before: await comparedWith(disk, renderer),
        after: main.figures,
        levelNotes: notes,
      }),
    },
    { name: `${names.main} - recall sheet.md`, content: recallSheet(session) },
  ];
  await writeFilesWhole(out, [...prints, ...texts]);

  const [reportPath, recallPath] = texts.map(({ name }) => join(out, name));
  const files = prints.map(({ name, kind, figures }) => ({
    path: join(out, name),
    kind,
    bits,
    sampleRate: rate,
    ...figures,
  }));
  if (json) {
    const answer = { files, report: reportPath, recallSheet: recallPath, gainDb: level.gainDb, notes };
    console.out(`${JSON.stringify(answer, null, 2)}\n`);
    return;
  }
  for (const file of files) console.out(`${file.path}: ${bits} bit, ${rate} Hz\n`);
  console.out(`${reportPath}\n${recallPath}\n\n${notes.join('\n')}\n\n`);
  console.out(figureTable([{ heading: 'mix as printed', figures: main.figures }]));
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
      namesOption('--kinds', KINDS),
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
