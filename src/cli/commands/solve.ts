import type { Command } from 'commander';
import { basename, dirname, resolve } from 'node:path';
import { USUAL_LIMITS, USUAL_REACH_DB, type BlendLimits, type Solution } from '../../blend/solve/solution.ts';
import { isTargetText, rangeFrom, requireDistinct, targetFrom, type Target } from '../../blend/solve/solve-target.ts';
import { wantedText } from '../../blend/solve/solve-words.ts';
import { feedsOthers } from '../../blend/sweep/feeds.ts';
import { solve } from '../../engine/jobs/solve.ts';
import type { Solved } from '../../engine/questions.ts';
import { requireWritable, writeFilesWhole } from '../../files/node/node-files.ts';
import { changeText, numberText } from '../../measure/definitions/figure-text.ts';
import { setBlends } from '../../session/edits/blend-edits.ts';
import { described, listed, ProblemError } from '../../session/problem.ts';
import { LOUDEST_DB, CLOSED_DB, type Session } from '../../session/schema.ts';
import { sessionText } from '../../session/read/serialize.ts';
import { withBlendOptions, type BlendOptions } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { GuardFailed } from '../guard-failed.ts';
import { keepInputs } from '../keep-inputs.ts';
import { outsideSentence } from '../outside-sentence.ts';
import { numberOption } from '../options.ts';
import { rebased } from '../rebased.ts';
import { inputPaths } from '../session-on-disk.ts';
import { aligned, figureTable } from '../tables.ts';
import { readTargetFile } from '../target-file.ts';
import { workplaceOf } from '../workplace.ts';

interface Options extends BlendOptions {
  readonly target: readonly string[];
  readonly limit?: readonly string[];
  readonly within: number;
  readonly out?: string;
}

type Limits = ReadonlyMap<string, BlendLimits>;

const problem = (
  path: string,
  expected: string,
  found: string,
  code: 'mismatch' | 'wrong-type' | 'out-of-range' | 'unknown-name' = 'mismatch',
): ProblemError => new ProblemError({ code, path, expected, found });

const LIMIT = /^([^=]+)=(.*)$/;

/** "squeeze=-30..-6". */
const limitFrom = (text: string): readonly [string, BlendLimits] => {
  const [, id, range] = LIMIT.exec(text) ?? [];
  const limits = range === undefined ? null : rangeFrom(range);
  if (id === undefined || !limits) throw problem('--limit', 'BUS=LOW..HIGH in dB', described(text), 'wrong-type');
  return [id.trim(), limits];
};

/** @throws ProblemError unless limits name buses of the session that sound, lower end first */
export const checkLimits = ({ buses }: Session, limits: Limits, place: string): void => {
  const sounding = buses.filter(({ on, blendDb }) => on && blendDb > CLOSED_DB).map(({ id }) => id);
  for (const [id, { low, high }] of limits) {
    if (!sounding.includes(id))
      throw problem(place, listed(sounding) || 'a bus that sounds', described(id), 'unknown-name');
    if (low > high || low < CLOSED_DB || high > LOUDEST_DB) {
      throw problem(
        `${place} ${id}`,
        `a range within ${CLOSED_DB}..${LOUDEST_DB} dB`,
        `${low}..${high}`,
        'out-of-range',
      );
    }
  }
};

/** Targets and limits, from the options or from files. */
const questionFrom = async ({
  target,
  limit = [],
}: Options): Promise<{ targets: readonly Target[]; limits: Limits }> => {
  const asked = await Promise.all(
    target.map(async (text) =>
      isTargetText(text)
        ? { targets: [targetFrom(text, '--target')], limits: new Map<string, BlendLimits>() }
        : readTargetFile(text),
    ),
  );
  const limits = new Map([...asked.flatMap((each) => [...each.limits]), ...limit.map(limitFrom)]);
  return {
    targets: requireDistinct(
      asked.flatMap((each) => each.targets),
      '--target',
    ),
    limits,
  };
};

/** @throws ProblemError when no bus sounds */
export const requireMovable = ({ buses }: Session, path: string): void => {
  if (buses.some(({ on, blendDb }) => on && blendDb > CLOSED_DB)) return;
  throw problem(`${path}: buses`, 'at least one bus that is on and not closed, so that its blend can be moved', 'none');
};

/** Blends that moved; the others are left exactly as written in the session. */
const movedBlends = ({ moves }: Solution): ReadonlyMap<string, number> =>
  new Map(moves.filter(({ movedDb }) => movedDb !== 0).map(({ id, toDb }) => [id, toDb]));

const writeSolved = async (session: Session, solution: Solution, path: string, out: string): Promise<void> => {
  const solved = rebased(setBlends(session, movedBlends(solution)), dirname(path), dirname(out));
  await writeFilesWhole(dirname(out), [{ name: basename(out), content: sessionText(solved) }]);
};

const readable = (targets: readonly Target[], { solution, headline }: Solved, sentences: readonly string[]): string =>
  [
    `${headline}\n`,
    aligned([
      ['Target', 'asked', 'before', 'found', ''],
      ...targets.map((target, n) => {
        const { before, after, met } = solution.targets[n]!;
        const decimals = target.figure.decimals + 1;
        return [
          target.figure.label,
          wantedText(target),
          numberText(before, decimals),
          numberText(after, decimals),
          met ? 'met' : 'NOT MET',
        ];
      }),
    ]),
    aligned([
      ['Bus', 'blend dB', 'was', 'moved'],
      ...solution.moves.map(({ name, fromDb, toDb, movedDb }) => [
        name,
        numberText(toDb, 2),
        numberText(fromDb, 2),
        changeText(movedDb, 2),
      ]),
    ]),
    `${sentences.join('\n')}\n`,
    figureTable([
      { heading: 'before', figures: solution.before },
      { heading: 'found', figures: solution.after },
    ]),
    'All figures are of the print, after the mix bus; the balance drift is that before it.\n',
  ].join('\n');

const runSolve = async (path: string, options: Options, console: Console): Promise<void> => {
  const { targets, limits } = await questionFrom(options);
  const { out } = options;
  const place = await workplaceOf(path, options, console, async (parsed) => {
    checkLimits(parsed, limits, '--limit');
    requireMovable(parsed, path);
    if (out !== undefined) {
      await requireWritable(dirname(out));
      await keepInputs([out], inputPaths(parsed, path));
    }
  });
  const { session, section } = place;
  const mayFollow = session.buses.some(({ id }) => feedsOthers(session, id));
  const task = { targets, reach: { withinDb: options.within, limits }, section };
  const solved = await place.answer('Searching blends', solve(await place.workshop(mayFollow), task));
  const { solution } = solved;
  if (out !== undefined) {
    await writeSolved(session, solution, path, out);
  }
  const sentences = [
    ...solved.sentences,
    ...(out === undefined || resolve(dirname(out)) === resolve(dirname(path)) ? [] : [outsideSentence(out)]),
  ];
  const answer = {
    blends: Object.fromEntries(solution.blends),
    before: solution.before,
    after: solution.after,
    met: solution.met,
    stage: 'printed',
    withinDb: solution.withinDb,
    section: options.section ?? null,
    targets: solution.targets,
    guards: solution.guards,
    moves: solution.moves,
    sentences,
    queries: solution.queries,
    prints: solution.prints,
    ...(out === undefined ? {} : { session: out }),
  };
  // JSON has no infinite numbers: an open end of a range is null.
  console.out(options.json ? `${JSON.stringify(answer, null, 2)}\n` : readable(targets, solved, sentences));
  if (!solution.met) throw new GuardFailed();
};

const HELP = `
A target is NAME=VALUE, NAME=LOW..HIGH, NAME=max, NAME=min, NAME>=VALUE or NAME<=VALUE (quote the last two in a shell).
NAME is a figure of \`measure --json\` ("integratedLufs", "crestDb", "stereo.correlation" or "correlation"), or as
tables and README call it ("LRA", "true peak"),
"slopeDbPerOctave", "lowsCorrelation", "bands.1000.levelDb" or "bands.1000.sideToMidDb". Targets that cannot be met
together are taken in their order, max and min last. Buses move as little as targets need; with max and min as far as
guards and limits allow. A blend moves by at most ${USUAL_REACH_DB} dB, or as --within says, from ${USUAL_LIMITS.low} to ${USUAL_LIMITS.high} dB, where no
limit of its own says otherwise. Figures are those of the print. Exit 1: not all targets are met.
A file holds {"targets": {"crestDb": "max", "integratedLufs": [-16, -14]}, "limits": {"squeeze": [-30, -6]}}.`;

export const addSolve = (program: Command, console: Console): void => {
  withBlendOptions(
    program
      .command('solve')
      .description('Finds blends that meet targets within the guards, and says what cannot be met.')
      .argument('<session>', 'a session file; the sound files that it names are read too')
      .requiredOption('--target <target...>', 'targets, or a JSON file of them')
      .option('--limit <limit...>', 'range of a blend: BUS=LOW..HIGH, dB')
      .option(
        '--within <dB>',
        'how far a blend may move from its value in the session, dB',
        numberOption('--within', 'dB', 0, 120),
        USUAL_REACH_DB,
      )
      .option('--out <session>', 'write the session with the blends found')
      .addHelpText('after', HELP),
  ).action((path: string, options: Options) => runSolve(path, options, console));
};
