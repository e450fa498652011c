import type { Command } from 'commander';
import { basename, dirname } from 'node:path';
import { feedsOthers } from '../../blend/sweep/feeds.ts';
import { solveBlends, USUAL_LIMITS, type BlendLimits, type Solution } from '../../blend/solve/solve.ts';
import { isTargetText, rangeFrom, requireDistinct, targetFrom, type Target } from '../../blend/solve/solve-target.ts';
import { solutionHeadline, solutionSentences, wantedText } from '../../blend/solve/solve-words.ts';
import { requireWritable, writeFilesWhole } from '../../files/node-files.ts';
import { changeText, numberText } from '../../measure/figure-text.ts';
import { setBlend } from '../../session/edits.ts';
import { described, listed, ProblemError } from '../../session/problem.ts';
import { SHUT_DB, type Session } from '../../session/schema.ts';
import { sessionText } from '../../session/serialize.ts';
import { BEFORE_MIX_BUS, withBlendOptions, workplaceOf, type BlendOptions, type Workplace } from '../blend-options.ts';
import type { Console } from '../console.ts';
import { keepInputs } from '../keep-inputs.ts';
import { rebased } from '../rebased.ts';
import { inputPaths } from '../session-on-disk.ts';
import { aligned, figureTable } from '../tables.ts';
import { readTargetFile } from '../target-file.ts';

interface Options extends BlendOptions {
  readonly target: readonly string[];
  readonly limit?: readonly string[];
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

/** @throws ProblemError unless limits name buses of the session that sound, with ends in order */
const checkLimits = ({ buses }: Session, limits: Limits, place: string): void => {
  const sounding = buses.filter(({ on, blendDb }) => on && blendDb > SHUT_DB).map(({ id }) => id);
  for (const [id, { low, high }] of limits) {
    if (!sounding.includes(id))
      throw problem(place, listed(sounding) || 'a bus that sounds', described(id), 'unknown-name');
    if (low > high || low < SHUT_DB || high > 24) {
      throw problem(`${place} ${id}`, `a range within ${SHUT_DB}..24 dB`, `${low}..${high}`, 'out-of-range');
    }
  }
};

/** What is asked: targets and limits, from the options or from files. */
const questionFrom = async ({
  target,
  limit = [],
}: Options): Promise<{ targets: readonly Target[]; limits: Limits }> => {
  const asked = await Promise.all(
    target.map(async (text) =>
      isTargetText(text)
        ? { targets: [targetFrom(text)], limits: new Map<string, BlendLimits>() }
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

const withBlends = (session: Session, { blends }: Solution): Session =>
  [...blends].reduce((changed, [id, db]) => setBlend(changed, id, db), session);

/** Searches after a blend was rendered anew: where a bus sends on from behind its blend. */
const MOST_RENDERS = 5;
/** Blends that move less than this from one render to the next have settled, dB. */
const SETTLED = 0.005;

/** The solution; with buses that feed others behind their blend, after as many renders as it takes to settle. */
const solutionOf = async (
  { session, workshop }: Workplace,
  targets: readonly Target[],
  limits: Limits,
  console: Console,
): Promise<Solution> => {
  const solve = async (from: Session): Promise<Solution> => {
    const { bench } = await workshop.context(from);
    console.progress('Looking for blends');
    return solveBlends(bench, targets, limits);
  };
  const first = await solve(session);
  let solution = first;
  for (let render = 1; render < MOST_RENDERS; render++) {
    const feeding = solution.moves.some(({ id, movedDb }) => Math.abs(movedDb) >= SETTLED && feedsOthers(session, id));
    if (!feeding) break;
    solution = await solve(withBlends(session, solution));
  }
  if (solution === first) return first;
  const started = new Map(first.moves.map(({ id, fromDb }) => [id, fromDb]));
  const targetsBefore = new Map(first.targets.map(({ figure, before }) => [figure, before]));
  return {
    ...solution,
    before: first.before,
    targets: solution.targets.map((target) => ({ ...target, before: targetsBefore.get(target.figure) ?? null })),
    moves: solution.moves.map((move) => {
      const fromDb = started.get(move.id)!;
      return { ...move, fromDb, movedDb: Number((move.toDb - fromDb).toFixed(3)) };
    }),
  };
};

const requireMovable = ({ buses }: Session, path: string): void => {
  if (buses.some(({ on, blendDb }) => on && blendDb > SHUT_DB)) return;
  throw problem(`${path}: buses`, 'at least one bus that is on and not shut, so that its blend can be moved', 'none');
};

const writeSolved = async (session: Session, solution: Solution, path: string, out: string): Promise<void> => {
  const solved = rebased(withBlends(session, solution), dirname(path), dirname(out));
  await writeFilesWhole(dirname(out), [{ name: basename(out), content: sessionText(solved) }]);
};

const readable = (targets: readonly Target[], solution: Solution, sentences: readonly string[]): string =>
  [
    `${solutionHeadline(solution)}\n`,
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
    'All figures are of the blend, before the mix bus.\n',
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
  const { session } = place;
  const solution = await solutionOf(place, targets, limits, console);
  if (out !== undefined) await writeSolved(session, solution, path, out);
  const sentences = solutionSentences(targets, solution);
  const answer = {
    blends: Object.fromEntries(solution.blends),
    before: solution.before,
    after: solution.after,
    met: solution.met,
    stage: BEFORE_MIX_BUS,
    section: options.section ?? null,
    targets: solution.targets,
    guards: solution.guards,
    moves: solution.moves,
    sentences,
    queries: solution.queries,
    ...(out === undefined ? {} : { session: out }),
  };
  // An end that is infinite, "at least", is not a number in JSON: it is null there.
  console.out(options.json ? `${JSON.stringify(answer, null, 2)}\n` : readable(targets, solution, sentences));
};

const HELP = `
A target is NAME=VALUE, NAME=LOW..HIGH, NAME=max, NAME=min, NAME>=VALUE or NAME<=VALUE (quote the last two in a shell).
NAME is a figure of \`measure --json\` ("integratedLufs", "crestDb", "stereo.correlation" or "correlation"),
"slopeDbPerOctave", "lowsCorrelation", "bands.1000.levelDb" or "bands.1000.sideToMidDb". Targets that cannot be met
together are taken in their order. Buses move as little as targets need; with max and min as far as guards and limits
allow. Blends go from ${USUAL_LIMITS.low} to ${USUAL_LIMITS.high} dB where no limit says otherwise.
A file holds {"targets": {"crestDb": "max", "integratedLufs": [-16, -14]}, "limits": {"squeeze": [-30, -6]}}.`;

export const addSolve = (program: Command, console: Console): void => {
  withBlendOptions(
    program
      .command('solve')
      .description('Blends that meet targets within the guards; what cannot be met is said.')
      .argument('<session>', 'a session file; the sound files that it names are read too')
      .requiredOption('--target <target...>', 'targets, or a JSON file of them')
      .option('--limit <limit...>', 'how far a blend may go: BUS=LOW..HIGH, dB')
      .option('--out <session>', 'writes the session with the blends found')
      .addHelpText('after', HELP),
  ).action((path: string, options: Options) => runSolve(path, options, console));
};
