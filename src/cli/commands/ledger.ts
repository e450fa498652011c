import type { Command } from 'commander';
import type { Flow } from '../../blend/ledger/flow.ts';
import { keyFlagsOf } from '../../blend/ledger/key-flag.ts';
import type { LedgerRow } from '../../blend/ledger/ledger.ts';
import type { ProcessorRow } from '../../blend/ledger/processor-rows.ts';
import { ledger } from '../../engine/jobs/ledger.ts';
import { processors } from '../../engine/jobs/processors.ts';
import { sides } from '../../engine/jobs/sides.ts';
import type { Figures, Measurement } from '../../measure/figures.ts';
import { changeText, numberText } from '../../measure/definitions/figure-text.ts';
import { levelDbOf, levelLineOf } from '../../session/lines/level-lines.ts';
import { described, ProblemError } from '../../session/problem.ts';
import { CLOSED_DB, type Session } from '../../session/schema.ts';
import { ALLOW_OUTSIDE } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { aligned, figureTable } from '../tables.ts';
import { workplaceOf, type PlaceOptions } from '../workplace.ts';

/** One path: its settings in the session and its row of the ledger. */
interface PathRow extends LedgerRow {
  readonly name: string;
  readonly kind: 'group' | 'bus';
  readonly on: boolean;
  /** Fader of a group, blend of a bus; of one that a line moves, where it is loudest. */
  readonly blendDb: number;
  /** Id of the line that moves it. */
  readonly line?: string;
  /** The change that each processor of its chain makes to the mix; only where requested. */
  readonly processors?: readonly ProcessorRow[];
}

interface LedgerAnswer {
  /** Name of the measured section; absent for the whole song. */
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

interface LedgerOptions extends Omit<PlaceOptions, 'guards'> {
  readonly json?: true;
  readonly path?: string;
}

const pathRow = (session: Session, found: LedgerRow): PathRow => {
  const { groups, buses } = session;
  const line = levelLineOf(session, found.id);
  const row = {
    ...found,
    flags: [...keyFlagsOf(session, found.id), ...found.flags],
    blendDb: levelDbOf(session, found.id),
    ...(line && { line: line.id }),
  };
  const group = groups.find(({ id }) => id === row.id);
  if (group) return { ...row, name: group.name, kind: 'group', on: group.on };
  const bus = buses.find(({ id }) => id === row.id)!;
  return { ...row, name: bus.name, kind: 'bus', on: bus.on };
};

const levelCell = ({ on, blendDb, line }: PathRow): string => {
  if (!on) return 'off';
  return blendDb <= CLOSED_DB ? '−∞' : `${numberText(blendDb, 1)}${line === undefined ? '' : ' (line)'}`;
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

/** @throws ProblemError when the session has no such group or bus */
export const requirePath = ({ groups, buses }: Session, id: string, named = '--path'): void => {
  const ids = [...groups, ...buses].map((each) => each.id);
  if (ids.includes(id)) return;
  const expected = `the id of a group or bus: ${ids.join(', ')}`;
  throw new ProblemError({ code: 'unknown-name', path: named, expected, found: described(id) });
};

const runLedger = async (file: string, options: LedgerOptions, console: Console): Promise<void> => {
  const { path } = options;
  const place = await workplaceOf(file, options, console, (parsed) => {
    if (path !== undefined) requirePath(parsed, path);
  });
  const { session, section } = place;
  const workshop = await place.workshop(path !== undefined);
  const { mix, paths, flow } = await place.answer('Measuring', ledger(workshop, { section }));
  const found = path === undefined ? null : await place.answer('Measuring', processors(workshop, { path, section }));
  const { printed, rough } = await place.answer('Measuring', sides(workshop, { section }));
  const answer: LedgerAnswer = {
    ...(section ? { section: section.name } : {}),
    ...{ mix, printed },
    ...(rough ? { rough } : {}),
    paths: paths.map((row) => ({
      ...pathRow(session, row),
      ...(found && row.id === path ? { processors: found } : {}),
    })),
    flow,
  };
  console.out(options.json ? `${JSON.stringify(answer, null, 2)}\n` : readable(answer));
};

export const addLedger = (program: Command, console: Console): void => {
  program
    .command('ledger')
    .description('Shows what each group and each parallel bus changes in the mix.')
    .argument('<session>', 'a session file; the sound files that it names are read too')
    .option('--section <name>', 'measure this section of the session only')
    .option('--path <id>', 'also show what each processor of this group or bus changes in the mix')
    .option(...ALLOW_OUTSIDE)
    .option('--json', 'one JSON document')
    .action((file: string, options: LedgerOptions) => runLedger(file, options, console));
};
