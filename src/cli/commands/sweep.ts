import type { Command } from 'commander';
import { feedsOthers } from '../../blend/sweep/feeds.ts';
import { axisBlends, type Sweep, type SweepAxis, type SweepFigures } from '../../blend/sweep/sweep.ts';
import { bringUpBuses } from '../../engine/jobs/bring-up.ts';
import { sweep, type SweepTask } from '../../engine/jobs/sweep.ts';
import { described, listed, ProblemError } from '../../session/problem.ts';
import { levelLineNotes } from '../../session/lines/level-lines.ts';
import { CLOSED_DB, type Session } from '../../session/schema.ts';
import { BEFORE_MIX_BUS, withBlendOptions, type BlendOptions } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { numberOption } from '../options.ts';
import { bringUpText, sweepText } from '../sweep-text.ts';
import { workplaceOf, type Workplace } from '../workplace.ts';

interface Options extends BlendOptions {
  readonly bus?: string;
  readonly from: number;
  readonly to: number;
  readonly step: number;
  readonly second?: string;
  readonly secondFrom: number;
  readonly secondTo: number;
  readonly secondStep: number;
  readonly bringUp?: string;
  readonly down: number;
}

/** Rows that one sweep may have. */
const MOST_ROWS = 1000;

/** The bus of this id. @throws ProblemError naming the existing ones */
export const requireBus = ({ buses }: Session, id: string, option: string): string => {
  if (buses.some((bus) => bus.id === id)) return id;
  const expected = buses.length > 0 ? listed(buses.map((bus) => bus.id)) : 'a bus, but the session has none';
  throw new ProblemError({ code: 'unknown-name', path: option, expected, found: described(id) });
};

const axisFrom = (session: Session, axis: SweepAxis, option: string): SweepAxis => {
  requireBus(session, axis.bus, option);
  if (axis.from <= axis.to) return axis;
  const ends = option === '--bus' ? ['--from', '--to'] : [`${option}-from`, `${option}-to`];
  const expected = `a blend at or below that of ${ends[1]!}`;
  throw new ProblemError({ code: 'out-of-range', path: ends[0]!, expected, found: `${axis.from}` });
};

type Axes = readonly [SweepAxis, SweepAxis | undefined];

/** @throws ProblemError when the axes make too many rows */
export const shortEnough = (...axes: Axes): Axes => {
  const [axis, second] = axes;
  const count = axisBlends(axis).length * (second ? axisBlends(second).length : 1);
  if (count <= MOST_ROWS) return axes;
  const expected = `a step that gives at most ${MOST_ROWS} rows`;
  throw new ProblemError({ code: 'out-of-range', path: '--step', expected, found: `one for ${count}` });
};

/** The axes of a sweep. @throws ProblemError for a missing bus, ends out of order, or too many rows */
const axesFrom = (session: Session, bus: string, options: Options): Axes => {
  const { from, to, step, second } = options;
  const axis = axisFrom(session, { bus, from, to, step }, '--bus');
  if (second === undefined) return shortEnough(axis, undefined);
  if (second === bus) {
    throw new ProblemError({
      code: 'mismatch',
      path: '--second',
      expected: 'another bus than --bus',
      found: described(bus),
    });
  }
  const other = { bus: second, from: options.secondFrom, to: options.secondTo, step: options.secondStep };
  return shortEnough(axis, axisFrom(session, other, '--second'));
};

export interface SweepAnswer extends Sweep {
  readonly bus: string;
  readonly secondBus?: string;
  readonly section: string | null;
  readonly stage: typeof BEFORE_MIX_BUS;
  /** The mix that rows are matched to and compared with. */
  readonly reference: SweepFigures & { readonly name: string };
  readonly notes: readonly string[];
}

const sweepOf = async (place: Workplace, axes: Axes, options: Options): Promise<SweepAnswer> => {
  const [axis, second] = axes;
  const { section, session } = place;
  const task: SweepTask = { axis, section, ...(second ? { second } : {}) };
  const mayFollow = feedsOthers(session, axis.bus) || (second !== undefined && feedsOthers(session, second.bus));
  const { rows, marks, reference, off, rendersEach } = await place.answer(
    'Sweeping',
    sweep(await place.workshop(mayFollow), task),
  );
  const notes = [
    ...levelLineNotes(session, second ? [axis.bus, second.bus] : [axis.bus]),
    ...off.map((id) => `The bus "${id}" is off in the session and was swept as if it were on.`),
    ...(rendersEach
      ? [
          'The bus has a post-fader send to another bus, so every row was rendered; marks between rows are not computed.',
        ]
      : []),
  ];
  return {
    bus: axis.bus,
    ...(second ? { secondBus: second.bus } : {}),
    section: options.section ?? null,
    stage: BEFORE_MIX_BUS,
    reference: { name: 'the mix as the session has it', ...reference },
    ...{ rows, marks, notes },
  };
};

/** The buses to bring up, in order. @throws ProblemError for one that is missing or feeds others */
const orderFrom = (session: Session, list: string): readonly string[] => {
  const sounding = session.buses.filter(({ on, blendDb }) => on && blendDb > CLOSED_DB).map(({ id }) => id);
  const order = list === 'all' ? sounding : list.split(',').map((id) => requireBus(session, id.trim(), '--bring-up'));
  const feeding = order.find((id) => feedsOthers(session, id));
  if (feeding === undefined) return order;
  const expected = 'buses without a post-fader send to another bus';
  throw new ProblemError({ code: 'mismatch', path: '--bring-up', expected, found: described(feeding) });
};

const runBringUp = async (
  place: Workplace,
  order: readonly string[],
  { down, section, json }: Options,
  console: Console,
): Promise<void> => {
  const task = { order, downDb: down, section: place.section };
  const found = await place.answer('Measuring', bringUpBuses(await place.workshop(false), task));
  const steps = found.map(({ bus, figures, change }) => ({ bus, ...figures, change }));
  const answer = { stage: BEFORE_MIX_BUS, section: section ?? null, downDb: down, order, steps };
  console.out(json ? `${JSON.stringify(answer, null, 2)}\n` : bringUpText(steps, down));
};

const runSweep = async (path: string, options: Options, console: Console): Promise<void> => {
  const { bus, bringUp: list } = options;
  if ((bus === undefined) === (list === undefined)) {
    const found = bus === undefined ? 'neither' : 'both';
    throw new ProblemError({ code: 'mismatch', path: '--bus', expected: 'either --bus or --bring-up', found });
  }
  if (list !== undefined) {
    const place = await workplaceOf(path, options, console, (parsed) => void orderFrom(parsed, list));
    return runBringUp(place, orderFrom(place.session, list), options, console);
  }
  const place = await workplaceOf(path, options, console, (parsed) => void axesFrom(parsed, bus!, options));
  const answer = await sweepOf(place, axesFrom(place.session, bus!, options), options);
  console.out(options.json ? `${JSON.stringify(answer, null, 2)}\n` : sweepText(answer));
};

const blend = (option: string): ((text: string) => number) => numberOption(option, 'dB', CLOSED_DB, 24);
const step = (option: string): ((text: string) => number) => numberOption(option, 'dB', 0.05, 60);

export const addSweep = (program: Command, console: Console): void => {
  withBlendOptions(
    program
      .command('sweep')
      .description('Measures a range of blends of one bus, or of two, and marks the blends at which guards break.')
      .argument('<session>', 'a session file; the sound files that it names are read too')
      .option('--bus <id>', 'the bus to sweep')
      .option('--from <dB>', 'lowest blend', blend('--from'), -30)
      .option('--to <dB>', 'highest blend', blend('--to'), 0)
      .option('--step <dB>', 'step from one row to the next', step('--step'), 3)
      .option('--second <id>', 'a second bus: every blend of the first with every one of the second')
      .option('--second-from <dB>', 'its lowest blend', blend('--second-from'), -30)
      .option('--second-to <dB>', 'its highest blend', blend('--second-to'), 0)
      .option('--second-step <dB>', 'its step', step('--second-step'), 6)
      .option(
        '--bring-up <ids>',
        'instead of --bus: pull these buses down ("all", or ids separated by commas) and bring them up one by one',
      )
      .option('--down <dB>', 'how far --bring-up pulls them down', numberOption('--down', 'dB', 0, 90), 40),
  ).action((path: string, options: Options) => runSweep(path, options, console));
};
