import { listensToKey, processorSteps, type ChainStep, type ProcessorStep } from './chain-steps.ts';
import type { Values } from './parameter.ts';
import { processorOf } from './registry.ts';

const isSameSound = ({ sound }: ProcessorStep, other: ProcessorStep): boolean => sound?.hash === other.sound?.hash;

const latencyOf = ({ processor, values }: ProcessorStep, sampleRate: number): number =>
  processorOf(processor).latency(values, sampleRate);

const processorCanMove = (from: ProcessorStep, to: ProcessorStep, sampleRate: number): boolean =>
  from.processor === to.processor &&
  isSameSound(from, to) &&
  latencyOf(from, sampleRate) === latencyOf(to, sampleRate) &&
  listensToKey(from) === listensToKey(to);

/** True if a running step can become another one by new values alone: the same processors, with unchanged latencies. */
export const canMoveTo = (from: ChainStep, to: ChainStep, sampleRate: number): boolean => {
  const [inside, others] = [processorSteps(from), processorSteps(to)];
  return (
    'split' in from === 'split' in to &&
    inside.length === others.length &&
    inside.every((step, n) => processorCanMove(step, others[n]!, sampleRate))
  );
};

export const hasSameValues = (a: Values, b: Values): boolean =>
  Object.keys(b).every((id) => Object.is(a[id], b[id])) && Object.keys(a).length === Object.keys(b).length;

/**
 * Pairs of indices of steps in `from` and `to` that keep their state, in order: a longest common subsequence, so that
 * adding, removing or moving a step leaves the others alone.
 */
export const matchedSteps = (
  from: readonly ChainStep[],
  to: readonly ChainStep[],
  sampleRate: number,
): readonly (readonly [from: number, to: number])[] => {
  const longest = Array.from({ length: from.length + 1 }, () => new Array<number>(to.length + 1).fill(0));
  for (let a = from.length - 1; a >= 0; a--)
    for (let b = to.length - 1; b >= 0; b--)
      longest[a]![b] = canMoveTo(from[a]!, to[b]!, sampleRate)
        ? longest[a + 1]![b + 1]! + 1
        : Math.max(longest[a + 1]![b]!, longest[a]![b + 1]!);
  const pairs: [number, number][] = [];
  for (let a = 0, b = 0; a < from.length && b < to.length;) {
    if (canMoveTo(from[a]!, to[b]!, sampleRate) && longest[a]![b] === longest[a + 1]![b + 1]! + 1)
      pairs.push([a++, b++]);
    else if (longest[a + 1]![b]! >= longest[a]![b + 1]!) a++;
    else b++;
  }
  return pairs;
};
