import { changeText, numberText } from '../../measure/figure-text.ts';
import { inARow } from '../../session/problem.ts';
import type { SolvedGuard, Solution, TargetResult } from './solution.ts';
import type { Target } from './solve-target.ts';

/** A target's wish in words: "-16.0 to -14.0 LUFS", "at least 0.30". */
export const wantedText = ({ figure: { unit, decimals }, wanted }: Target): string => {
  const text = (value: number): string => `${numberText(value, decimals + 1)} ${unit}`.trim();
  if (wanted === 'max') return 'as high as possible';
  if (wanted === 'min') return 'as low as possible';
  const { low, high } = wanted;
  if (low === high) return text(low);
  if (high === Infinity) return `at least ${text(low)}`;
  if (low === -Infinity) return `at most ${text(high)}`;
  return `${numberText(low, decimals + 1)} to ${text(high)}`;
};

/** What stands in the way of going further: guards at their limits and blends at theirs. */
const obstacles = ({ guards, moves, targets }: Solution): string[] => {
  const active = guards
    .filter((guard) => guard.active)
    .map(({ name, brokenAtStart }) => `the guard "${name}"${brokenAtStart ? ', which was broken before' : ''}`);
  const ends = moves
    .filter(({ atLimit }) => atLimit !== null)
    .map(
      ({ name, toDb, atLimit }) =>
        `the ${atLimit === 'low' ? 'lowest' : 'highest'} blend of ${name} (${numberText(toDb, 1)} dB)`,
    );
  const others = active.length + ends.length === 0 && targets.length > 1 ? ['the other targets'] : [];
  return [...active, ...ends, ...others];
};

const targetSentence = (target: Target, result: TargetResult, solution: Solution): string => {
  const { label, unit, decimals } = target.figure;
  if (result.after === null) return `${label} cannot be met: this mix has no such figure.`;
  const reached = `${numberText(result.after, decimals + 1)} ${unit}`.trim();
  const inTheWay = obstacles(solution);
  if (typeof target.wanted === 'string') {
    const [most, more] = target.wanted === 'max' ? ['highest', 'more'] : ['lowest', 'less'];
    const way = inTheWay.length > 0 ? `; ${inARow(inTheWay)} stood in the way of ${more}` : '';
    return `${label} came to ${reached}, the ${most} that was found within the guards and limits${way}.`;
  }
  if (result.met) return `${label} is ${reached}, as asked.`;
  const why =
    inTheWay.length > 0
      ? `${inARow(inTheWay)} stood in the way`
      : 'no blend of these buses that was found comes nearer';
  return `${label} is not met: ${wantedText(target)} was asked, ${reached} reached; ${why}.`;
};

const brokenSentence = ({ name, before, value, limit, unit, pass }: SolvedGuard): string => {
  const text = (number: number | null): string => `${numberText(number, 2)} ${unit}`.trim();
  const end = pass ? `it is kept now, at ${text(value)}` : `it is at ${text(value)} now`;
  return `The guard "${name}" (limit ${limit}${unit ? ` ${unit}` : ''}) was broken before anything was moved, at ${text(before)}, and may only get better; ${end}.`;
};

const moveSentence = ({ moves, withinDb }: Solution): string => {
  const moved = moves.filter(({ movedDb }) => Math.abs(movedDb) >= 0.05);
  if (moved.length === 0) return 'No blend had to be moved.';
  const far = [...moved].sort((a, b) => Math.abs(b.movedDb) - Math.abs(a.movedDb));
  const list = inARow(far.map(({ name, movedDb }) => `${name} by ${changeText(movedDb, 1)} dB`));
  return `Moved: ${list}; blends may move by ${withinDb} dB where no limit says otherwise.`;
};

const guardsWere = (count: number, were: string, was: string): string =>
  count === 1 ? `one guard ${was}` : `${count} guards ${were}`;

/** The answer in one sentence: whether all targets are met, and whether guards are broken all the same. */
export const solutionHeadline = ({ targets, guards }: Solution): string => {
  const broken = guards.filter(({ pass }) => !pass);
  const still = broken.filter(({ brokenAtStart }) => brokenAtStart).length;
  const anew = broken.length - still;
  const parts = [
    targets.every(({ met }) => met) ? 'All targets are met' : 'Not all targets are met',
    ...(anew > 0 ? [guardsWere(anew, 'are broken by it', 'is broken by it')] : []),
    ...(still > 0 ? [guardsWere(still, 'were broken before and still are', 'was broken before and still is')] : []),
  ];
  return `${parts.join('; ')}.`;
};

/** The answer in plain sentences: each target, each guard that has something to say, and what was moved. */
export const solutionSentences = (targets: readonly Target[], solution: Solution): string[] => [
  ...targets.map((target, n) => targetSentence(target, solution.targets[n]!, solution)),
  ...solution.guards.filter(({ brokenAtStart }) => brokenAtStart).map(brokenSentence),
  ...solution.guards
    .filter(({ pass, brokenAtStart }) => !pass && !brokenAtStart)
    .map(({ sentence }) => `The search broke a guard: ${sentence}`),
  ...solution.guards.filter(({ value }) => value === null).map(({ sentence }) => sentence),
  moveSentence(solution),
];
