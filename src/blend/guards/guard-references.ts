import { onBothSides, type Sound } from '../../audio/audio.ts';
import type { Details } from '../../measure/details.ts';
import type { Figures } from '../../measure/figures.ts';
import { measureFullySteps } from '../../measure/measure.ts';
import { groupSharesOf, ownOrigins } from './balance.ts';
import type { Guarded, GuardReference } from './guards.ts';
import { buildOnceSteps, type QueryPath } from '../gram/make-blend-query.ts';

/** The figures that guards read, from a measured sound. */
export const guardedFigures = (
  figures: Figures,
  { lowsCorrelation }: Pick<Details, 'lowsCorrelation'>,
  groupShares: Guarded['groupShares'],
): Guarded => ({
  integratedLufs: figures.integratedLufs,
  loudnessRangeLu: figures.loudnessRangeLu,
  stereo: figures.stereo,
  bands: figures.bands,
  truePeakDbtp: figures.truePeakDbtp,
  lowsCorrelation,
  groupShares,
});

/** The rough as a reference, step by step; `audio` is the section of it that is compared, each step yields the part done, 0..1. */
export function* roughReferenceSteps(audio: Sound): Generator<number, GuardReference> {
  const { figures, details } = yield* measureFullySteps(onBothSides(audio));
  return { name: 'rough', ...guardedFigures(figures, details, null) };
}

/**
 * The mix as received as a reference: the sum of its groups at their faders, over the section that is compared. Each
 * step yields the part done, 0..1.
 * @throws RangeError as `buildOnceSteps` does
 */
export function* receivedReferenceSteps(groups: readonly QueryPath[]): Generator<number, GuardReference> {
  const query = yield* buildOnceSteps(groups);
  const gains = query.ids.map(() => 1);
  return {
    name: 'mix as received',
    ...query.essentials(gains),
    truePeakDbtp: query.truePeakDbtp(gains),
    lowsCorrelation: query.lowsCorrelation(gains),
    groupShares: groupSharesOf(query.ids, query.shares(gains), ownOrigins(query.ids)),
  };
}
