import { changeText, numberText } from '../../measure/definitions/figure-text.ts';
import { inARow } from '../../session/problem.ts';
import type { SolvedGuard, Solution, TargetResult } from './solution.ts';
import type { Target } from './solve-target.ts';

/** The value or range that a target asks for, in words: "-16.0 to -14.0 LUFS", "at least 0.30". */
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

/** More blends than this at their limits are counted and not named: the list of moves names them. */
const FEW_BLENDS = 3;

/** What limits the result: guards or blends at their limits, or the other targets. */
const limitsOf = ({ guards, moves, targets }: Solution): string[] => {
  const active = guards
    .filter((guard) => guard.active)
    .map(({ name, brokenAtStart }) => `the guard "${name}"${brokenAtStart ? ', which was broken before' : ''}`);
  const atLimits = moves.filter(({ atLimit }) => atLimit !== null);
  const ends =
    atLimits.length > FEW_BLENDS
      ? [`the limits of ${atLimits.length} of ${moves.length} blends`]
      : atLimits.map(
          ({ name, toDb, atLimit }) =>
            `the ${atLimit === 'low' ? 'lowest' : 'highest'} blend allowed for ${name} (${numberText(toDb, 1)} dB)`,
        );
  const others = active.length + ends.length === 0 && targets.length > 1 ? ['the other targets'] : [];
  return [...active, ...ends, ...others];
};

const targetSentence = (target: Target, result: TargetResult, solution: Solution): string => {
  const { label, unit, decimals } = target.figure;
  if (result.after === null) return `${label} cannot be met: this mix has no such figure.`;
  const reached = `${numberText(result.after, decimals + 1)} ${unit}`.trim();
  const limits = limitsOf(solution);
  if (typeof target.wanted === 'string') {
    const most = target.wanted === 'max' ? 'highest' : 'lowest';
    const why = limits.length > 0 ? `; limited by ${inARow(limits)}` : '';
    return `${label} reached ${reached}, the ${most} value found within the guards and limits${why}.`;
  }
  if (result.met) return `${label} is ${reached}, as asked.`;
  const why =
    limits.length > 0 ? `limited by ${inARow(limits)}` : 'no blends of these buses were found that come closer';
  return `${label} is not met: ${wantedText(target)} asked for, ${reached} reached; ${why}.`;
};

const brokenSentence = ({ name, before, value, limit, unit, pass }: SolvedGuard): string => {
  const text = (number: number | null): string => `${numberText(number, 2)} ${unit}`.trim();
  const end = pass ? `now ${text(value)}, within the limit` : `now ${text(value)}`;
  return `The guard "${name}" (limit ${limit}${unit ? ` ${unit}` : ''}) was broken before any blend was moved, at ${text(before)}, and was not allowed to get worse; ${end}.`;
};

const moveSentence = ({ moves, withinDb }: Solution): string => {
  const moved = moves.filter(({ movedDb }) => Math.abs(movedDb) >= 0.05);
  if (moved.length === 0) return 'No blend had to be moved.';
  const far = [...moved].sort((a, b) => Math.abs(b.movedDb) - Math.abs(a.movedDb));
  const list = inARow(far.map(({ name, movedDb }) => `${name} by ${changeText(movedDb, 1)} dB`));
  const full = moved.filter(({ movedDb }) => Math.abs(movedDb) >= withinDb - 0.05).length;
  const reach =
    full > 0
      ? `${full} of ${moves.length} blends moved as far as allowed (${withinDb} dB; a wider limit lets them go further)`
      : `no blend was allowed to move further than ${withinDb} dB, or than its own limits`;
  return `Moved: ${list}; ${reach}.`;
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
    ...(anew > 0 ? [guardsWere(anew, 'are broken by these blends', 'is broken by these blends')] : []),
    ...(still > 0 ? [guardsWere(still, 'were broken before and still are', 'was broken before and still is')] : []),
  ];
  return `${parts.join('; ')}.`;
};

/** The answer in sentences: each target, each guard that is broken, was broken or has no value, and the moves of blends. */
export const solutionSentences = (targets: readonly Target[], solution: Solution): string[] => [
  ...targets.map((target, n) => targetSentence(target, solution.targets[n]!, solution)),
  ...solution.guards.filter(({ brokenAtStart }) => brokenAtStart).map(brokenSentence),
  ...solution.guards
    .filter(({ pass, brokenAtStart }) => !pass && !brokenAtStart)
    .map(({ sentence }) => `These blends break a guard: ${sentence}`),
  ...solution.guards.filter(({ value }) => value === null).map(({ sentence }) => sentence),
  moveSentence(solution),
];
