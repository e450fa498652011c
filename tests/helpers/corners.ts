import { type Parameter, type Setting, type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import type { Processor } from '../../src/dsp/core/processor.ts';
import { seeded } from './signals.ts';
import { casesOf, isSoaking, seedOf } from './soak.ts';

/** The ends of a parameter's range, all its choices, or both positions. */
export const extremesOf = (parameter: Parameter): readonly Setting[] => {
  if (parameter.kind === 'number') return [parameter.min, parameter.max];
  if (parameter.kind === 'choice') return parameter.choices;
  return [false, true];
};

/** The bands of the EQ are all alike: the first stands for the others. */
export const isTwin = (id: string): boolean => /^band[2-8]/.test(id);

/** Settings `base` with one parameter at one extreme, for all extremes of all parameters (when soaking, also of twins). */
export const singleCorners = ({ parameters }: Processor, base: Settings): readonly Settings[] =>
  Object.entries(parameters)
    .filter(([id]) => isSoaking || !isTwin(id))
    .flatMap(([id, parameter]) => extremesOf(parameter).map((setting) => ({ ...base, [id]: setting })));

/** `count` seeded settings with every parameter at one of its extremes; others in every round of soaking. */
export const randomCorners = ({ parameters }: Processor, count: number, seed: number): readonly Settings[] => {
  const random = seeded(seedOf(seed));
  return Array.from({ length: count }, () =>
    Object.fromEntries(
      Object.entries(parameters).map(([id, parameter]) => {
        const extremes = extremesOf(parameter);
        return [id, extremes[Math.floor(random() * extremes.length)]!];
      }),
    ),
  );
};

/** Settings worth trying on every processor: as added, one extreme at a time, and many at once. */
export const cornersOf = (processor: Processor): readonly Settings[] => [
  processor.start,
  ...singleCorners(processor, processor.start),
  ...randomCorners(processor, casesOf(8, 24), 7),
];

/** Of `settings`, in turn, those that leave the latency of `base` as it is: a running chain can take them. */
export const sameLatency = ({ parameters, latency }: Processor, settings: Settings, base: Settings): Settings => {
  const latencyOf = (tried: Settings): number => latency(valuesFrom(parameters, tried), 48000);
  const wanted = latencyOf(base);
  return Object.entries(settings).reduce<Settings>((taken, [id, setting]) => {
    const tried = { ...taken, [id]: setting };
    return latencyOf(tried) === wanted ? tried : taken;
  }, base);
};
