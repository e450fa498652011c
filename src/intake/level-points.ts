import { CLOSED_DB, LOUDEST_DB } from '../session/schema.ts';
import { fewPoints } from '../session/lines/few-points.ts';
import type { LinePoint } from '../session/lines/line-schema.ts';
import type { LevelStretch } from './rough/track-in-rough.ts';

/** Stretches shorter than this, seconds, between a higher and a lower one are steps of a ride (our own choice). */
const STEP_OF_RIDE = 3;
/** Points of a ride that lie this near to the straight line between others, dB, are left out. */
const NEAR_LINE = 0.4;

interface Place {
  readonly at: number;
  readonly db: number;
}

/** The places that are needed so that no other lies further from the lines between them than `NEAR_LINE`. */
const simplified = (places: readonly Place[]): readonly Place[] =>
  fewPoints(
    places.map(({ at }) => at),
    places.map(({ db }) => db),
    NEAR_LINE,
  ).map((n) => places[n]!);

const secondsOf = ({ startSeconds, endSeconds }: LevelStretch): number => endSeconds - startSeconds;

const pointAt = ({ at, db }: Place, curve: LinePoint['curve']): LinePoint => ({
  at: Math.max(0, Math.round(1000 * at) / 1000),
  value: Math.min(LOUDEST_DB, Math.max(CLOSED_DB, Math.round(1000 * db) / 1000)),
  curve,
});

/**
 * The levels of a track over the song as the points of a line, few of them: a level that lasts is held, and short ones that
 * rise or fall from one to the next are a ride, straight from where the one before ends to where the next begins.
 */
export const levelPoints = (levels: readonly LevelStretch[]): LinePoint[] => {
  const rise = (n: number): number => Math.sign(levels[n + 1]!.gainDb - levels[n]!.gainDb);
  const isStep = (n: number): boolean =>
    n > 0 && n + 1 < levels.length && secondsOf(levels[n]!) < STEP_OF_RIDE && rise(n) === rise(n - 1);
  const points: LinePoint[] = [];
  for (let n = 0; n < levels.length; n++) {
    const level = levels[n]!;
    if (!isStep(n)) {
      // Where a ride ends, its last place is there already.
      if (n === 0 || !isStep(n - 1)) points.push(pointAt({ at: level.startSeconds, db: level.gainDb }, 'hold'));
      continue;
    }
    let end = n;
    while (isStep(end)) end++;
    const [before, after] = [levels[n - 1]!, levels[end]!];
    const steps = levels.slice(n, end);
    const ride = simplified([
      { at: level.startSeconds - Math.min(secondsOf(level), secondsOf(before)) / 2, db: before.gainDb },
      ...steps.map(({ startSeconds, endSeconds, gainDb }) => ({ at: (startSeconds + endSeconds) / 2, db: gainDb })),
      { at: after.startSeconds + Math.min(secondsOf(steps.at(-1)!), secondsOf(after)) / 2, db: after.gainDb },
    ]);
    points.push(...ride.map((place, k) => pointAt(place, k + 1 < ride.length ? 'linear' : 'hold')));
    n = end;
  }
  return points;
};
