import type { Parameter } from '../../dsp/core/parameter.ts';
import type { Session } from '../schema.ts';
import { controlOf, isControl } from './controls.ts';
import { fewPoints } from './few-points.ts';
import { overStretch } from './line-edits.ts';
import type { LinePoint, LineTarget, LineValue } from './line-schema.ts';

/** A moment of the song, seconds, and what a control was from then on. */
export interface Sample {
  readonly seconds: number;
  readonly value: LineValue;
}

/** What is drawn lies no further than this from what was done, dB; of what is not a level, this share of its range (our own choice). */
export const WRITTEN_DB = 0.1;
const WRITTEN_SHARE = 0.005;
/** A control that has not moved for so long, seconds, stood still, and then moved over this time. */
const STOOD = 0.1;
const MOVED = 0.02;
/** The shortest stretch that is written, seconds. */
const SHORTEST = 0.01;

/** Samples between which straight lines tell what was done: where a control stood still, its value comes a second time. */
const withStands = (samples: readonly Sample[]): Sample[] =>
  samples.flatMap((sample, n) => {
    const before = samples[n - 1];
    if (!before || sample.seconds - before.seconds < STOOD) return [sample];
    return [{ seconds: sample.seconds - MOVED, value: before.value }, sample];
  });

/** `places`: samples between which straight lines tell what is meant. */
const pointsOf = (parameter: Parameter, places: readonly Sample[]): LinePoint[] => {
  const held = (sample: Sample): LinePoint => ({ at: sample.seconds, value: sample.value, curve: 'hold' });
  if (parameter.kind !== 'number') return places.map(held);
  const isByFactors = parameter.scale === 'logarithmic';
  const scaled = (value: number): number => (isByFactors ? Math.log(value) : value);
  const range = scaled(parameter.max) - scaled(parameter.min);
  const kept = fewPoints(
    places.map(({ seconds }) => seconds),
    places.map(({ value }) => scaled(Number(value))),
    parameter.unit === 'dB' ? WRITTEN_DB : WRITTEN_SHARE * range,
  );
  return kept.map((n) => ({ ...held(places[n]!), curve: isByFactors ? 'exponential' : 'linear' }));
};

const over = (
  session: Session,
  target: LineTarget,
  samples: readonly Sample[],
  endSeconds: number,
  placesOf: (samples: readonly Sample[]) => Sample[],
): Session => {
  const control = controlOf(session, target);
  const [first, last] = [samples[0], samples.at(-1)];
  if (!first || !last || !isControl(control)) return session;
  const end = Math.max(endSeconds, last.seconds + SHORTEST);
  const inside = [...samples, { seconds: end - SHORTEST / 2, value: last.value }].filter(
    ({ seconds }, n, all) => n === 0 || seconds > all[n - 1]!.seconds,
  );
  const isNumber = control.parameter.kind === 'number';
  const points = pointsOf(control.parameter, isNumber ? placesOf(inside) : inside);
  return overStretch(session, target, { startSeconds: first.seconds, endSeconds: end }, points);
};

/**
 * The session with what was done to a control written on its line, from the first sample on until `endSeconds`; around that all stays as it
 * was. A sample counts where it is later than the one before it.
 */
export const writtenOver = (
  session: Session,
  target: LineTarget,
  samples: readonly Sample[],
  endSeconds: number,
): Session => over(session, target, samples, endSeconds, withStands);

/** The same with what was drawn by hand, in order of time: from place to place it goes straight. */
export const drawnOver = (session: Session, target: LineTarget, samples: readonly Sample[]): Session =>
  over(session, target, samples, samples.at(-1)?.seconds ?? 0, (drawn) => [...drawn]);
