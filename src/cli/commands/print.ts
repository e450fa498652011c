import type { Command } from 'commander';
import { join } from 'node:path';
import { print } from '../../engine/jobs/print.ts';
import { requireFit, type OrderFields } from '../../files/print/check-order.ts';
import { DELIVERY_TARGETS, targetWords, type DeliveryTarget } from '../../files/print/delivery-targets.ts';
import type { FileForm } from '../../files/print/file-form.ts';
import { scratchKeeper } from '../../files/node/node-scratch.ts';
import { MP3_KBPS, type Mp3Kbps } from '../../files/mp3/mp3-write.ts';
import { requireNew, requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { NAME_FACTS } from '../../files/print/print-names.ts';
import type { PrintKind, PrintOrder, PrintSpan } from '../../files/print/print-order.ts';
import { LOUDNESS_AHEAD, printFileNames } from '../../files/print/print-parts.ts';
import { filesOfPrint, type PrintedSong } from '../../files/print/print-song.ts';
import type { WavBits } from '../../files/wav/wav-write.ts';
import { restorePass } from '../../session/passes/passes.ts';
import { described, ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { soloNames } from '../../session/solo.ts';
import { ALLOW_OUTSIDE } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { GuardFailed } from '../guard-failed.ts';
import { keepInputs } from '../keep-inputs.ts';
import { PLAIN_ORDER, PRINT_FIELDS } from '../print-fields.ts';
import { inputPaths } from '../session-on-disk.ts';
import { figureTable } from '../tables.ts';
import { sectionNamed, workplaceOf } from '../workplace.ts';

interface Options {
  readonly out: string;
  readonly bits: WavBits;
  readonly format: FileForm;
  readonly dither: 'white' | 'shaped';
  readonly rate?: number;
  readonly kinds?: readonly PrintKind[];
  readonly without?: readonly string[];
  readonly pairs?: readonly string[];
  readonly pass?: string;
  readonly section?: string;
  readonly span?: PrintSpan;
  readonly head: number;
  readonly tail: number;
  readonly names?: string;
  readonly target?: number;
  readonly ceiling?: number;
  readonly targets?: readonly DeliveryTarget[];
  readonly stemsTakeGain?: true;
  readonly reportSound?: true;
  readonly stemsThroughMixBus?: true;
  readonly mp3?: Mp3Kbps;
  readonly force?: true;
  readonly allowOutside?: true;
  readonly guards?: string;
  readonly solo?: readonly string[];
  readonly json?: true;
}

/** Names of the fields of an order on the command line. */
const OPTION_NAMES: OrderFields = {
  ...{ without: '--without', pairs: '--pairs', kinds: '--kinds', form: '--bits', shaped: '--dither shaped' },
  ...{ names: '--names', targets: '--targets', pass: '--pass' },
};

/** Where prints go, and how messages refer to it. */
interface Destination {
  readonly out: string;
  readonly force: boolean;
  /** The option that replaces existing files: "--force" or its form in a script. */
  readonly forcing: string;
}

/** @throws ProblemError when files would replace inputs of `path`, or other files without `force` */
export const requireRoom = async (
  session: Session,
  path: string,
  names: readonly string[],
  { out, force, forcing }: Destination,
): Promise<void> => {
  await keepInputs(
    names.map((name) => join(out, name)),
    inputPaths(session, path),
  );
  if (!force) await requireNew(out, names, `another folder, or ${forcing} to replace what is there`);
};

/** @throws ProblemError when an order does not fit the session of `path`, or its prints cannot be written there */
export const requirePrintable = async (
  session: Session,
  path: string,
  order: PrintOrder,
  date: Date,
  destination: Destination,
  fields: OrderFields,
): Promise<void> => {
  requireFit(session, order, fields);
  await requireWritable(destination.out);
  const names = printFileNames(session, order, date).filter((name) => !name.includes(LOUDNESS_AHEAD));
  await requireRoom(session, path, names, destination);
};

const formWords = ({ bits, sampleRate }: PrintedSong<unknown>['prints'][number]): string =>
  bits.startsWith('MP3') ? `${bits} kbit/s, ${sampleRate} Hz` : `${bits} bit, ${sampleRate} Hz`;

const tellPrinted = (
  { prints, texts, notes, guards, mix }: PrintedSong<unknown>,
  { out }: Options,
  console: Console,
): void => {
  for (const each of prints) console.out(`${join(out, each.name)}: ${formWords(each)}\n`);
  const broken = guards.after.filter(({ pass }) => !pass).map(({ sentence }) => sentence);
  console.out([...texts.map(({ name }) => join(out, name)), '', ...notes, ...broken, '', ''].join('\n'));
  console.out(figureTable([{ heading: 'mix as printed', figures: mix }]));
};

/** @throws ProblemError naming the first id that is no track, group or bus of the session */
const requireSoloable = (session: Session, ids: readonly string[]): void => {
  const known = [...session.groups, ...session.buses, ...session.tracks].map(({ id }) => id);
  const unknown = ids.find((id) => !known.includes(id));
  if (unknown === undefined) return;
  const expected = `ids of tracks, groups or buses, separated by commas: ${known.join(', ')}`;
  throw new ProblemError({ code: 'unknown-name', path: '--solo', expected, found: described(unknown) });
};

/** The session with the soloed names in its title, so that its prints are not mistaken for the mix. */
const called = (session: Session, ids: readonly string[]): Session =>
  ids.length === 0
    ? session
    : { ...session, title: `${session.title.slice(0, 40)} (solo ${soloNames(session, ids)})`.slice(0, 80) };

/** The pass of this name or id; null where none is requested. @throws ProblemError naming the existing passes */
const passNamed = ({ passes }: Session, asked: string | undefined): string | null => {
  if (asked === undefined) return null;
  const wanted = asked.trim().toLowerCase();
  const found = passes.find(({ id, name }) => id === wanted || name.toLowerCase() === wanted);
  if (found) return found.id;
  const expected =
    passes.length > 0 ? passes.map(({ name }) => `"${name}"`).join(', ') : 'a pass, but the session has none';
  throw new ProblemError({ code: 'unknown-name', path: '--pass', expected, found: described(asked) });
};

/** The print order that the options describe. */
const orderOf = (session: Session, path: string, options: Options): PrintOrder => {
  const { without = [], pairs = [] } = options;
  const asked = without.length + pairs.length > 0;
  return {
    ...PLAIN_ORDER,
    ...{ bits: options.bits, form: options.format, shaped: options.dither === 'shaped', rate: options.rate ?? null },
    ...{ kinds: options.kinds ?? (asked ? [] : PLAIN_ORDER.kinds), without, pairs },
    ...{ stemsTakeGain: options.stemsTakeGain === true, stemsThroughMixBus: options.stemsThroughMixBus === true },
    ...(options.reportSound ? { reportSound: true } : {}),
    ...{ mp3Kbps: options.mp3 ?? null, pass: passNamed(session, options.pass), names: options.names ?? null },
    span: options.span ?? sectionNamed(session, path, options.section),
    ...{ headSeconds: options.head, tailSeconds: options.tail },
    ...{ targetLufs: options.target ?? null, ceilingDbtp: options.ceiling ?? null, targets: options.targets ?? [] },
  };
};

/** @throws ProblemError for options that contradict each other */
const requireOneWay = ({ target, ceiling, targets, section, span }: Options): void => {
  const refuse = (path: string, expected: string, found: string): never => {
    throw new ProblemError({ code: 'mismatch', path, expected, found });
  };
  if (targets && (target !== undefined || ceiling !== undefined))
    refuse('--targets', 'neither --target nor --ceiling beside it', 'both');
  if (span && section !== undefined) refuse('--span', 'no --section beside it', 'both');
};

const runPrint = async (path: string, options: Options, console: Console): Promise<void> => {
  const { out, json, solo = [] } = options;
  const date = new Date();
  const destination = { out, force: options.force === true, forcing: '--force' };
  requireOneWay(options);
  const place = await workplaceOf(path, options, console, (parsed) => {
    requireSoloable(parsed, solo);
    const order = orderOf(parsed, path, options);
    return requirePrintable(called(parsed, solo), path, order, date, destination, OPTION_NAMES);
  });
  const order = orderOf(place.session, path, options);
  const passed = order.pass ? restorePass(place.session, order.pass) : place.session;
  const sounding = place.song.soloed(called(passed, solo), solo);
  const workshop = await place.workshop(true, sounding);
  const task = { order, keeper: scratchKeeper(console.note), targetName: '--target', date };
  const printed = await place.answer('Printing', print(workshop, task));
  const { prints, gainDb, targetMet, levels, notes, guards } = printed;
  const written = filesOfPrint(printed);
  await requireRoom(
    place.session,
    path,
    written.map(({ name }) => name),
    destination,
  );
  await writeFilesWhole(out, written);
  if (json) {
    const files = prints.map(({ name, kind, target, bits, sampleRate, figures }) => ({
      ...{ path: join(out, name), kind, ...(target === null ? {} : { target }), bits, sampleRate },
      ...figures,
    }));
    const [report, recallSheet, manifest] = ([printed.report, printed.recallSheet, printed.manifest] as const).map(
      ({ name }) => join(out, name),
    );
    const texts = printed.texts.map(({ name }) => join(out, name));
    const told = { files, report, recallSheet, manifest, texts, gainDb, targetMet, levels, notes, guards };
    console.out(`${JSON.stringify(told, null, 2)}\n`);
  } else tellPrinted(printed, options, console);
  if (!targetMet) throw new GuardFailed();
};

/** Options for what is printed, and in which format. */
const addFileOptions = (command: Command): Command =>
  command
    .option('--format <form>', 'wav, flac (16 or 24 bits) or aiff', PRINT_FIELDS.form('--format'), 'wav')
    .option('--bits <bits>', '16, 24 or 32f', PRINT_FIELDS.bits('--bits'), '24')
    .option(
      '--dither <noise>',
      'white (triangular), or shaped (lowest where hearing is most sensitive; for 16 bits at 44.1 and 48 kHz)',
      PRINT_FIELDS.dither('--dither'),
      'white',
    )
    .option('--rate <Hz>', 'sample rate; by default that of the session', PRINT_FIELDS.rate('--rate'))
    .option(
      '--kinds <kinds>',
      'main (the mix), instrumental, a-cappella, without-lead (no lead vocals), stems (one file per path), group-stems or returns (of groups or buses alone), or several, separated by commas; by default main',
      PRINT_FIELDS.kinds('--kinds'),
    )
    .option('--without <ids>', 'for each of these groups, the mix without it', PRINT_FIELDS.ids())
    .option(
      '--pairs <ids>',
      'each of these groups and buses with its chain and without it, before the mix bus',
      PRINT_FIELDS.ids(),
    )
    .option('--pass <name>', 'print this pass instead of the current mix')
    .option('--section <name>', 'only this section of the session, cut to the sample')
    .option('--span <start-end>', 'only this part of the song, seconds or m:ss', PRINT_FIELDS.span('--span'))
    .option('--head <s>', 'silence before the sound of each file', PRINT_FIELDS.silence('--head'), 0)
    .option('--tail <s>', 'silence after the sound of each file', PRINT_FIELDS.silence('--tail'), 0)
    .option(
      '--names <template>',
      `template of the file names, from ${NAME_FACTS.map((fact) => `{${fact}}`).join(' ')}`,
    );

/** Options for level, stems and copies. */
const addLevelOptions = (command: Command): Command =>
  command
    .option('--target <LUFS>', 'loudness target for the mix, reached by gain only', PRINT_FIELDS.target('--target'))
    .option(
      '--ceiling <dBTP>',
      'true-peak ceiling of the mix, kept by gain only; -1 by default where there is a target',
      PRINT_FIELDS.ceiling('--ceiling'),
    )
    .option(
      '--targets <targets>',
      `several deliveries at once, separated by commas: ${DELIVERY_TARGETS.map((each) => `${each.name} (${targetWords(each)})`).join(', ')}, or name=LUFS/dBTP`,
      PRINT_FIELDS.targets('--targets'),
    )
    .option('--stems-through-mix-bus', 'run each stem through the mix bus by itself, and report what that changes')
    .option('--stems-take-gain', 'apply the gain that brings the mix to its target or ceiling to stems too')
    .option(
      '--mp3 <kbit/s>',
      `also write an MP3 of each file of the mix, kbit/s: ${MP3_KBPS.join(', ')}`,
      PRINT_FIELDS.mp3('--mp3'),
    )
    .option(
      '--report-sound',
      'put a short excerpt of the rough and of the mix into the report to listen to, matched in loudness, as MP3',
    );

export const addPrint = (program: Command, console: Console): void => {
  const command = program
    .command('print')
    .alias('bounce')
    .description('Prints a session: sound files, a report, a recall sheet and a manifest. All is written, or nothing.')
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .requiredOption('--out <folder>', 'output folder; made if missing');
  addLevelOptions(addFileOptions(command))
    .option(
      '--solo <ids>',
      'print only these tracks, groups and buses in place, with the buses that they feed; the file names say so',
      (text: string) => text.split(',').map((id) => id.trim()),
    )
    .option('--guards <set>', 'a set of guards for the report instead of the default one')
    .option(...ALLOW_OUTSIDE)
    .option('--force', 'replaces prints that are there already')
    .option('--json', 'one JSON document')
    .action((path: string, options: Options) => runPrint(path, options, console));
};
