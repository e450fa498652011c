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

/** Whether what runs a step can run another one with new values alone: the same processors, each as late as before. */
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
 * Steps of `to` that can go on from a step of `from`, as pairs of places, in order: a longest common subsequence, so that a step that
 * is put in, taken out or moved leaves the others as they are.
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
