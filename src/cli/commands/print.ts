import type { Command } from 'commander';
import { join } from 'node:path';
import { print } from '../../engine/jobs/print.ts';
import { scratchKeeper } from '../../files/node-scratch.ts';
import { MP3_KBPS, mp3RateOf, type Mp3Kbps } from '../../files/mp3-write.ts';
import { requireNew, requireWritable, writeFilesWhole } from '../../files/node-files.ts';
import {
  filesOfPrint,
  printFileNames,
  type PrintedSong,
  type PrintKind,
  type PrintOrder,
} from '../../files/print-song.ts';
import type { WavBits } from '../../files/wav-write.ts';
import { described, ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { soloNames } from '../../session/solo.ts';
import { hasVocals, VARIANTS, type Variant } from '../../session/variants.ts';
import { ALLOW_OUTSIDE } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { GuardFailed } from '../guard-failed.ts';
import { keepInputs } from '../keep-inputs.ts';
import { PRINT_FIELDS } from '../print-fields.ts';
import { inputPaths } from '../session-on-disk.ts';
import { figureTable } from '../tables.ts';
import { workplaceOf } from '../workplace.ts';

interface Options {
  readonly out: string;
  readonly bits: WavBits;
  readonly rate?: number;
  readonly kinds: readonly PrintKind[];
  readonly target?: number;
  readonly ceiling?: number;
  readonly stemsTakeGain?: true;
  readonly mp3?: Mp3Kbps;
  readonly force?: true;
  readonly allowOutside?: true;
  readonly guards?: string;
  readonly solo?: readonly string[];
  readonly json?: true;
}

/** @throws ProblemError when the session of `path` has no group that is marked as vocal */
const requireVocals = (session: Session, path: string, variant: Variant): void => {
  if (hasVocals(session)) return;
  const expected = `at least one group with "vocal": true for a print of kind "${variant}"`;
  throw new ProblemError({ code: 'mismatch', path: `${path}: groups`, expected, found: 'none' });
};

/** @throws ProblemError when prints of `path` cannot stand in `out`, or would write over what is read, or over others unasked */
export const requirePrintable = async (
  session: Session,
  path: string,
  {
    out,
    kinds,
    force,
    mp3 = null,
  }: {
    readonly out: string;
    readonly kinds: readonly PrintKind[];
    readonly force: boolean;
    readonly mp3?: PrintOrder['mp3Kbps'];
  },
  /** How this face is told to replace what is there. */
  forcing: string,
): Promise<void> => {
  for (const kind of VARIANTS) if (kinds.includes(kind)) requireVocals(session, path, kind);
  await requireWritable(out);
  const names = printFileNames(session, kinds, mp3);
  await keepInputs(
    names.map((name) => join(out, name)),
    inputPaths(session, path),
  );
  if (!force) await requireNew(out, names, `another folder, or ${forcing} to replace what is there`);
};

const tellPrinted = (
  { prints, texts, sampleRate, notes, guards, mix }: PrintedSong<unknown>,
  { out, bits }: Options,
  console: Console,
): void => {
  for (const print of prints)
    console.out(
      `${join(out, print.name)}: ${print.bits === bits ? `${bits} bit, ${sampleRate} Hz` : `${print.bits} kbit/s`}\n`,
    );
  const broken = guards.after.filter(({ pass }) => !pass).map(({ sentence }) => sentence);
  console.out([...texts.map(({ name }) => join(out, name)), '', ...notes, ...broken, '', ''].join('\n'));
  console.out(figureTable([{ heading: 'mix as printed', figures: mix }]));
};

/** @throws ProblemError naming the first id that is no track, group or bus of the session */
const requireSoloable = (session: Session, ids: readonly string[]): void => {
  const known = [...session.groups, ...session.buses, ...session.tracks].map(({ id }) => id);
  const unknown = ids.find((id) => !known.includes(id));
  if (unknown === undefined) return;
  const expected = `ids of tracks, groups or buses with commas between: ${known.join(', ')}`;
  throw new ProblemError({ code: 'unknown-name', path: '--solo', expected, found: described(unknown) });
};

/** The session called after what is soloed in it, so that its prints are never taken for the mix. */
const called = (session: Session, ids: readonly string[]): Session =>
  ids.length === 0
    ? session
    : { ...session, title: `${session.title.slice(0, 40)} (solo ${soloNames(session, ids)})`.slice(0, 80) };

const runPrint = async (path: string, options: Options, console: Console): Promise<void> => {
  const { out, bits, kinds, json, solo = [] } = options;
  const place = await workplaceOf(path, options, console, (parsed) => {
    requireSoloable(parsed, solo);
    return requirePrintable(
      called(parsed, solo),
      path,
      { out, kinds, mp3: options.mp3 ?? null, force: options.force === true },
      '--force',
    );
  });
  const order: PrintOrder = {
    ...{
      bits,
      kinds,
      rate: options.rate ?? null,
      stemsTakeGain: options.stemsTakeGain === true,
      mp3Kbps: options.mp3 ?? null,
    },
    ...{ targetLufs: options.target ?? null, ceilingDbtp: options.ceiling ?? null },
  };
  const sounding = place.song.soloed(called(place.session, solo), solo);
  const workshop = await place.workshop(
    VARIANTS.some((kind) => kinds.includes(kind)),
    sounding,
  );
  const task = { order, keeper: scratchKeeper(console.note), targetName: '--target', date: new Date() };
  const printed = await place.answer('Printing', print(workshop, task));
  const { prints, sampleRate, gainDb, targetMet, notes, guards } = printed;
  await writeFilesWhole(out, filesOfPrint(printed));
  if (json) {
    const files = prints.map(({ name, kind, bits: form, figures }) => {
      const rateOfForm = form === bits ? sampleRate : mp3RateOf({ sampleRate });
      return { path: join(out, name), kind, bits: form, sampleRate: rateOfForm, ...figures };
    });
    const [report, recallSheet, manifest] = ([printed.report, printed.recallSheet, printed.manifest] as const).map(
      ({ name }) => join(out, name),
    );
    const texts = printed.texts.map(({ name }) => join(out, name));
    console.out(
      `${JSON.stringify({ files, report, recallSheet, manifest, texts, gainDb, targetMet, notes, guards }, null, 2)}\n`,
    );
  } else tellPrinted(printed, options, console);
  if (!targetMet) throw new GuardFailed();
};

export const addPrint = (program: Command, console: Console): void => {
  program
    .command('print')
    .alias('bounce')
    .description('Prints a session: WAV files, a report, a recall sheet and a manifest. All is written, or nothing.')
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .requiredOption('--out <folder>', 'where the files go; made if it is not there')
    .option('--bits <bits>', '16, 24 or 32f', PRINT_FIELDS.bits('--bits'), '24')
    .option('--rate <Hz>', 'sample rate; that of the session if not given', PRINT_FIELDS.rate('--rate'))
    .option(
      '--kinds <kinds>',
      'main (the mix), instrumental, a-cappella, stems (one file per path), or several with commas between',
      PRINT_FIELDS.kinds('--kinds'),
      ['main'],
    )
    .option('--target <LUFS>', 'loudness target for the mix, reached by gain alone', PRINT_FIELDS.target('--target'))
    .option(
      '--ceiling <dBTP>',
      'true-peak ceiling of the mix, kept by gain alone; -1 where there is a target',
      PRINT_FIELDS.ceiling('--ceiling'),
    )
    .option(
      '--stems-take-gain',
      'stems take the gain that brings the mix to its target or ceiling; else they stay as they are',
    )
    .option(
      '--mp3 <kbit/s>',
      `an MP3 beside each WAV file that is no stem, for listening: ${MP3_KBPS.join(', ')}`,
      PRINT_FIELDS.mp3('--mp3'),
    )
    .option(
      '--solo <ids>',
      'prints only these tracks, groups and buses in place, with what they feed, under a name that says so',
      (text: string) => text.split(',').map((id) => id.trim()),
    )
    .option('--guards <set>', 'a set of guards for the report instead of the default one')
    .option(...ALLOW_OUTSIDE)
    .option('--force', 'replaces prints that are there already')
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runPrint(path, options, console));
};
