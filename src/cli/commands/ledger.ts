import type { Command } from 'commander';
import type { Flow } from '../../blend/ledger/flow.ts';
import { keyFlagsOf } from '../../blend/ledger/key-flag.ts';
import { fitted, ledgerBasisSteps, ledgerOf, type LedgerInput, type LedgerRow } from '../../blend/ledger/ledger.ts';
import type { FrameRange } from '../../blend/gram/make-blend-query.ts';
import type { ProcessorRow } from '../../blend/ledger/processor-rows.ts';
import type { Audio } from '../../audio/audio.ts';
import { finished } from '../../audio/steps.ts';
import type { Figures, Measurement } from '../../measure/figures.ts';
import { changeText, numberText } from '../../measure/figure-text.ts';
import { measure } from '../../measure/measure.ts';
import { gainsOf } from '../../render/mix.ts';
import { originsOf } from '../../render/origins.ts';
import { mainPrint } from '../../render/print.ts';
import { pathNames } from '../../session/graph.ts';
import { described, ProblemError } from '../../session/problem.ts';
import { SHUT_DB, type Section, type Session } from '../../session/schema.ts';
import { sectionNamed } from '../blend-context.ts';
import { ALLOW_OUTSIDE, readerFor } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { flowOfSession } from '../flow-of-session.ts';
import { framesOfSpan } from '../named-span.ts';
import { processorsOf } from '../processor-ledger.ts';
import { SessionRenderer, type Rendered } from '../render-session.ts';
import { readSessionFromDisk } from '../session-on-disk.ts';
import { aligned, figureTable } from '../tables.ts';

/** What stands in a session about one path, and what the ledger says of it. */
interface PathRow extends LedgerRow {
  readonly name: string;
  readonly kind: 'group' | 'bus';
  readonly on: boolean;
  /** Fader of a group, blend of a bus. */
  readonly blendDb: number;
  /** What each processor of its chain does to the mix; where it was asked for. */
  readonly processors?: readonly ProcessorRow[];
}

interface LedgerAnswer {
  /** Name of the section that all figures are of; absent for the whole song. */
  readonly section?: string;
  /** The sum of all paths, before the mix bus; so are `without`, `change` and `firstIn` of every path. */
  readonly mix: Figures;
  /** The mix as it would be printed, after the mix bus. */
  readonly printed: Measurement;
  readonly rough?: Measurement;
  readonly paths: readonly PathRow[];
  /** Where the mix's loudness comes from. */
  readonly flow: Flow;
}

interface LedgerOptions {
  readonly allowOutside?: true;
  readonly json?: true;
  readonly section?: string;
  readonly path?: string;
}

/** The rendered paths until the last tail has died away, each with what it is made of. */
const inputsOf = ({ plan, paths }: Rendered): LedgerInput[] =>
  [...originsOf(plan)].map(([id, origin]) => ({ id, audio: fitted(paths.get(id)!, plan.soundFrames), ...origin }));

const pathRow = (session: Session, found: LedgerRow): PathRow => {
  const { groups, buses } = session;
  const row = { ...found, flags: [...keyFlagsOf(session, found.id), ...found.flags] };
  const group = groups.find(({ id }) => id === row.id);
  if (group) return { ...row, name: group.name, kind: 'group', on: group.on, blendDb: group.faderDb };
  const bus = buses.find(({ id }) => id === row.id)!;
  return { ...row, name: bus.name, kind: 'bus', on: bus.on, blendDb: bus.blendDb };
};

const levelCell = ({ on, blendDb }: PathRow): string => {
  if (!on) return 'off';
  return blendDb <= SHUT_DB ? '−∞' : numberText(blendDb, 1);
};

const lagCell = ({ lagSamples, polarity }: LedgerRow['alignment']): string => {
  if (lagSamples === null) return '-';
  return `${lagSamples}${polarity === -1 ? ' inverted' : ''}`;
};

const flagLines = (rows: readonly PathRow[]): string =>
  rows.flatMap(({ name, flags }) => flags.map(({ reason, wayOut }) => `${name}: ${reason} ${wayOut}\n`)).join('');

const processorTable = (rows: readonly PathRow[]): string =>
  rows
    .filter(({ processors }) => processors)
    .map(
      ({ name, processors = [] }) =>
        `What each processor of ${name} changes in the mix\n\n` +
        aligned(
          [
            ['Processor', 'LU', 'LRA LU', 'crest dB', 'width dB', 'mono LU'],
            ...processors.map(({ item, processor, change }) => [
              item === processor ? item : `${item} (${processor})`,
              changeText(change.integratedLufs, 2),
              changeText(change.loudnessRangeLu, 2),
              changeText(change.crestDb, 2),
              changeText(change.stereo.sideToMidDb, 2),
              changeText(change.stereo.monoLossLu, 2),
            ]),
          ],
          [],
        ),
    )
    .join('\n');

const HEADINGS = [
  'Path',
  'kind',
  'level dB',
  'share %',
  'LU',
  'LRA LU',
  'crest dB',
  'width dB',
  'mono LU',
  'cancels dB',
  'lag samples',
];

const pathTable = (rows: readonly PathRow[]): string =>
  aligned(
    [
      HEADINGS,
      ...rows.map((row) => {
        const { name, kind, shareOfLoudness, change, alignment } = row;
        const share = shareOfLoudness === null ? null : 100 * shareOfLoudness;
        return [
          name,
          kind,
          levelCell(row),
          numberText(share, 1),
          changeText(change.integratedLufs, 2),
          changeText(change.loudnessRangeLu, 2),
          changeText(change.crestDb, 2),
          changeText(change.stereo.sideToMidDb, 2),
          changeText(change.stereo.monoLossLu, 2),
          numberText(alignment.cancelsDb, 1),
          lagCell(alignment),
        ];
      }),
    ],
    [1],
  );

const readable = ({ mix, printed, rough, paths, section }: LedgerAnswer): string => {
  const columns = [
    { heading: 'before mix bus', figures: mix },
    { heading: 'printed', figures: printed },
    ...(rough ? [{ heading: 'rough', figures: rough }] : []),
  ];
  const parts = [
    section === undefined ? '' : `Section ${section}\n`,
    figureTable(columns),
    'What each path changes: the mix with it less the mix without it, before the mix bus\n',
    pathTable(paths),
    paths.map(({ name, sentence }) => `${name}: ${sentence}\n`).join(''),
    flagLines(paths),
    processorTable(paths),
  ];
  return parts.filter((part) => part !== '').join('\n');
};

/** Frames of a section. @throws ProblemError when it begins behind the end */
const rangeOf = (section: Section, path: string, sampleRate: number, frames: number): FrameRange => {
  const [fromFrame, toFrame] = framesOfSpan(section, path, sampleRate, frames);
  return { fromFrame, toFrame };
};

/** @throws ProblemError when the session has no such group or bus */
const requirePath = ({ groups, buses }: Session, id: string): void => {
  const ids = [...groups, ...buses].map((each) => each.id);
  if (ids.includes(id)) return;
  const expected = `the id of a group or bus: ${ids.join(', ')}`;
  throw new ProblemError({ code: 'unknown-name', path: '--path', expected, found: described(id) });
};

const cut = ({ sampleRate, channels }: Audio, range: FrameRange | undefined, offset = 0): Audio => ({
  sampleRate,
  channels: range
    ? channels.map((channel) =>
        channel.subarray(Math.max(0, range.fromFrame - offset), Math.max(0, range.toFrame - offset)),
      )
    : channels,
});

/** The rough over the same part of the song, at its own rate. */
const roughOver = (rough: Audio, { rough: placed, sampleRate }: Session, range: FrameRange | undefined): Audio => {
  const ratio = rough.sampleRate / sampleRate;
  const scaled = range && {
    fromFrame: Math.round(range.fromFrame * ratio),
    toFrame: Math.round(range.toFrame * ratio),
  };
  return cut(rough, scaled, Math.round((placed?.offsetSeconds ?? 0) * rough.sampleRate));
};

const runLedger = async (path: string, options: LedgerOptions, console: Console): Promise<void> => {
  const disk = await readSessionFromDisk(
    path,
    readerFor(console, options.allowOutside === true, (parsed) => {
      sectionNamed(parsed, path, options.section);
      if (options.path !== undefined) requirePath(parsed, options.path);
    }),
  );
  const { session } = disk;
  const renderer = new SessionRenderer(disk, path, (done) => console.progress('Rendering', done));
  // The cache is filled only where parts are rendered again.
  const rendered = await (options.path === undefined ? renderer.mix() : renderer.changed(session));
  const frames = rendered.plan.soundFrames;
  const section = sectionNamed(session, path, options.section);
  const range = section ? rangeOf(section, path, session.sampleRate, frames) : undefined;
  const asReceived = await renderer.received();
  console.progress('Measuring');
  const inputs = inputsOf(rendered);
  const received = [...asReceived.paths].map(([id, audio]) => ({ id, audio: fitted(audio, frames) }));
  const basis = finished(ledgerBasisSteps(inputs, { received, ...(range ? { range } : {}) }), (done) =>
    console.progress('Measuring', done),
  );
  const gains = gainsOf(rendered.plan);
  const ledger = ledgerOf(
    basis,
    inputs.map(({ id }) => gains.get(id) ?? 0),
    pathNames(session),
  );
  const shares = new Map(ledger.paths.map(({ id, shareOfLoudness }) => [id, shareOfLoudness ?? 0]));
  const processors =
    options.path === undefined ? null : await processorsOf(renderer, session, options.path, ledger.mix, frames, range);
  const answer: LedgerAnswer = {
    ...(section ? { section: section.name } : {}),
    mix: ledger.mix,
    printed: measure(cut(mainPrint(rendered.plan, rendered.paths), range)),
    ...(disk.rough ? { rough: measure(roughOver(disk.rough, session, range)) } : {}),
    paths: ledger.paths.map((row) => ({
      ...pathRow(session, row),
      ...(processors && row.id === options.path ? { processors } : {}),
    })),
    flow: flowOfSession(rendered, renderer.sources, shares, range),
  };
  console.out(options.json ? `${JSON.stringify(answer, null, 2)}\n` : readable(answer));
};

export const addLedger = (program: Command, console: Console): void => {
  program
    .command('ledger')
    .description('What each group and each parallel bus does to the mix.')
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .option('--section <name>', 'figures of this section of the session alone')
    .option('--path <id>', 'also what each processor of this group or bus does to the mix')
    .option(...ALLOW_OUTSIDE)
    .option('--json', 'one JSON document')
    .action((path: string, options: LedgerOptions) => runLedger(path, options, console));
};
