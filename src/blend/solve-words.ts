import { changeText, numberText } from '../measure/figure-text.ts';
import type { BlendMove, SolvedGuard, Solution, TargetResult } from './solve.ts';
import type { Target } from './solve-target.ts';

const listOf = (parts: readonly string[]): string =>
  parts.length < 2 ? parts.join('') : `${parts.slice(0, -1).join(', ')} and ${parts.at(-1)}`;

/** A target's wish in words: "-16.0 to -14.0 LUFS", "at least 0.30". */
export const wantedText = ({ figure: { unit, decimals }, wanted }: Target): string => {
  const text = (value: number): string => `${numberText(value, decimals + 1)} ${unit}`.trim();
  if (wanted === 'max') return 'as much as can be had';
  if (wanted === 'min') return 'as little as can be had';
  const { low, high } = wanted;
  if (low === high) return text(low);
  if (high === Infinity) return `at least ${text(low)}`;
  if (low === -Infinity) return `at most ${text(high)}`;
  return `${numberText(low, decimals + 1)} to ${text(high)}`;
};

/** What stands in the way of going further: guards at their limits and blends at theirs. */
const obstacles = ({ guards, moves, targets }: Solution): string[] => {
  const active = guards.filter((guard) => guard.active).map(({ name }) => `the guard "${name}"`);
  const ends = moves
    .filter(({ atLimit }) => atLimit !== null)
    .map(({ name, toDb, atLimit }) => `the ${atLimit === 'low' ? 'lowest' : 'highest'} blend of ${name} (${toDb} dB)`);
  const others = active.length + ends.length === 0 && targets.length > 1 ? ['the other targets'] : [];
  return [...active, ...ends, ...others];
};

const targetSentence = (target: Target, result: TargetResult, solution: Solution): string => {
  const { label, unit, decimals } = target.figure;
  if (result.after === null) return `${label} cannot be met: this mix has no such figure.`;
  const reached = `${numberText(result.after, decimals + 1)} ${unit}`.trim();
  const inTheWay = obstacles(solution);
  if (typeof target.wanted === 'string') {
    const way = inTheWay.length > 0 ? `; ${listOf(inTheWay)} stood in the way of more` : '';
    return `${label} came to ${reached}, ${wantedText(target)}${way}.`;
  }
  if (result.met) return `${label} is ${reached}, as asked.`;
  const why =
    inTheWay.length > 0
      ? `${listOf(inTheWay)} stood in the way`
      : 'no blend of these buses that was found comes nearer';
  return `${label} is not met: ${wantedText(target)} was asked, ${reached} reached; ${why}.`;
};

const brokenSentence = ({ name, value, limit, unit, pass }: SolvedGuard): string => {
  const now = `${numberText(value, 2)} ${unit}`.trim();
  const end = pass ? 'it is kept now' : `it is at ${now} now`;
  return `The guard "${name}" (limit ${limit}${unit ? ` ${unit}` : ''}) was broken before anything was moved and took no part in the search; ${end}.`;
};

const moveSentence = (moves: readonly BlendMove[]): string => {
  const moved = moves.filter(({ movedDb }) => Math.abs(movedDb) >= 0.05);
  if (moved.length === 0) return 'No blend had to be moved.';
  const far = [...moved].sort((a, b) => Math.abs(b.movedDb) - Math.abs(a.movedDb));
  return `Moved: ${listOf(far.map(({ name, movedDb }) => `${name} by ${changeText(movedDb, 1)} dB`))}.`;
};

/** The answer in plain sentences: each target, each guard that has something to say, and what was moved. */
export const solutionSentences = (targets: readonly Target[], solution: Solution): string[] => [
  ...targets.map((target, n) => targetSentence(target, solution.targets[n]!, solution)),
  ...solution.guards.filter(({ brokenAtStart }) => brokenAtStart).map(brokenSentence),
  ...solution.guards
    .filter(({ pass, brokenAtStart }) => !pass && !brokenAtStart)
    .map(({ sentence }) => `The search broke a guard: ${sentence}`),
  ...solution.guards.filter(({ value }) => value === null).map(({ sentence }) => sentence),
  moveSentence(solution.moves),
];
