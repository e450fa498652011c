import type { Command } from 'commander';
import { ledgerBasisOf, ledgerOf, type LedgerInput, type LedgerRow } from '../../blend/ledger.ts';
import type { Figures, Measurement } from '../../measure/figures.ts';
import { changeText, numberText } from '../../measure/figure-text.ts';
import { measure } from '../../measure/measure.ts';
import { gainsOf } from '../../render/mix.ts';
import { mainPrint } from '../../render/print.ts';
import { sourceGroupsOf } from '../../session/graph.ts';
import { SHUT_DB, type Session } from '../../session/schema.ts';
import type { Console } from '../console.ts';
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
}

interface LedgerAnswer {
  /** The sum of all paths, before the mix bus; so are `without` and `change` of every path. */
  readonly mix: Figures;
  /** The mix as it would be printed, after the mix bus. */
  readonly printed: Measurement;
  readonly rough?: Measurement;
  readonly paths: readonly PathRow[];
}

/** The rendered paths until the last tail has died away, each with the paths that it doubles. */
const inputsOf = (session: Session, { plan, paths }: Rendered): LedgerInput[] =>
  plan.paths.map(({ id, kind }) => {
    const { sampleRate, channels } = paths.get(id)!;
    const audio = { sampleRate, channels: channels.map((channel) => channel.subarray(0, plan.soundFrames)) };
    return { id, audio, doubles: kind === 'bus' ? sourceGroupsOf(session, id) : [] };
  });

const pathRow = ({ groups, buses }: Session, row: LedgerRow): PathRow => {
  const group = groups.find(({ id }) => id === row.id);
  if (group) return { ...row, name: group.name, kind: 'group', on: group.on, blendDb: group.faderDb };
  const bus = buses.find(({ id }) => id === row.id)!;
  return { ...row, name: bus.name, kind: 'bus', on: bus.on, blendDb: bus.blendDb };
};

const levelCell = ({ on, blendDb }: PathRow): string => {
  if (!on) return 'off';
  return blendDb <= SHUT_DB ? 'shut' : numberText(blendDb, 1);
};

const lagCell = ({ lagSamples, polarity }: LedgerRow['alignment']): string => {
  if (lagSamples === null) return '-';
  return `${lagSamples}${polarity === -1 ? ' inverted' : ''}`;
};

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
  'lag',
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

const readable = ({ mix, printed, rough, paths }: LedgerAnswer): string => {
  const columns = [
    { heading: 'before mix bus', figures: mix },
    { heading: 'printed', figures: printed },
    ...(rough ? [{ heading: 'rough', figures: rough }] : []),
  ];
  return [
    figureTable(columns),
    'What each path changes: the mix with it less the mix without it, before the mix bus\n',
    pathTable(paths),
    paths.map(({ name, sentence }) => `${name}: ${sentence}\n`).join(''),
  ].join('\n');
};

const runLedger = async (path: string, json: boolean, console: Console): Promise<void> => {
  const disk = await readSessionFromDisk(path, (file, done) => console.progress(`Reading ${file}`, done));
  const renderer = new SessionRenderer(disk, path, (done) => console.progress('Rendering', done));
  const rendered = await renderer.mix();
  console.progress('Measuring');
  const gains = gainsOf(rendered.plan);
  const inputs = inputsOf(disk.session, rendered);
  const ledger = ledgerOf(
    ledgerBasisOf(inputs),
    inputs.map(({ id }) => gains.get(id) ?? 0),
  );
  const answer: LedgerAnswer = {
    mix: ledger.mix,
    printed: measure(mainPrint(rendered.plan, rendered.paths)),
    ...(disk.rough ? { rough: measure(disk.rough) } : {}),
    paths: ledger.paths.map((row) => pathRow(disk.session, row)),
  };
  console.out(json ? `${JSON.stringify(answer, null, 2)}\n` : readable(answer));
};

export const addLedger = (program: Command, console: Console): void => {
  program
    .command('ledger')
    .description('What each group and each parallel bus does to the mix.')
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .option('--json', 'one JSON document')
    .action((path: string, { json }: { json?: true }) => runLedger(path, json === true, console));
};
