import type { Range } from '../../audio/range.ts';
import { requireConsistent } from '../edits/edit-tools.ts';
import type { Section, Session } from '../schema.ts';
import { TempoMap } from '../tempo-map.ts';
import type { Line, LinePoint } from './line-schema.ts';
import { LEAST_DISTANCE } from './line-values.ts';

const isSame = (a: number, b: number): boolean => Math.abs(a - b) < LEAST_DISTANCE;

/** Moments of the song, seconds, before and after. */
type Anchor = readonly [before: number, after: number];

/** Where a moment comes to: evenly between the anchors, in order; null: something else has moved onto it. */
const movedBy = (anchors: readonly Anchor[]): ((at: number) => number | null) => {
  const [first, last] = [anchors[0]!, anchors.at(-1)!];
  return (at) => {
    if (at < first[0] || at > last[0]) return at >= first[1] && at <= last[1] ? null : at;
    const n = Math.max(
      1,
      anchors.findIndex(([before]) => before >= at),
    );
    const [[a, toA], [b, toB]] = [anchors[n - 1]!, anchors[n]!];
    return toA + ((at - a) / (b - a)) * (toB - toA);
  };
};

const movedLine = (line: Line, map: TempoMap, moved: (at: number) => number | null): Line => {
  const [secondsOf, placeOf] =
    line.unit === 'bars'
      ? [(at: number) => map.secondsAt(at), (seconds: number) => map.barAt(seconds)]
      : [(at: number) => at, (seconds: number) => seconds];
  const points = line.points
    .flatMap((point): LinePoint[] => {
      const before = secondsOf(point.at);
      const after = moved(before);
      if (after === null) return [];
      return [isSame(before, after) ? point : { ...point, at: placeOf(after) }];
    })
    .toSorted((a, b) => a.at - b.at)
    .filter(({ at }, n, all) => n === 0 || at - all[n - 1]!.at >= LEAST_DISTANCE);
  return points.length === 0 ? line : { ...line, points };
};

/**
 * Moves the bounds of a section, by its place in the list, to others (seconds). A section that ends where it begins, or begins where it ends,
 * keeps to it. Lines move along: their points in these sections lie where they lay between the bounds.
 */
export const moveSection = (session: Session, place: number, to: Range): Session => {
  const section = session.sections[place];
  if (!section) throw new RangeError(`the session has no section ${place}`);
  const boundsOf = (each: Section, n: number): Section => {
    if (n === place) return { ...each, ...to };
    return {
      ...each,
      startSeconds: isSame(each.startSeconds, section.endSeconds) ? to.endSeconds : each.startSeconds,
      endSeconds: isSame(each.endSeconds, section.startSeconds) ? to.startSeconds : each.endSeconds,
    };
  };
  const sections = session.sections.map(boundsOf);
  const anchors = new Map<number, number>();
  session.sections.forEach((each, n) => {
    const after = sections[n]!;
    const isMoved = each.startSeconds !== after.startSeconds || each.endSeconds !== after.endSeconds;
    if (isMoved) anchors.set(each.startSeconds, after.startSeconds).set(each.endSeconds, after.endSeconds);
  });
  if (anchors.size === 0) return session;
  const moved = movedBy([...anchors].toSorted(([a], [b]) => a - b));
  const map = new TempoMap(session);
  return requireConsistent({ ...session, sections, lines: session.lines.map((line) => movedLine(line, map, moved)) });
};
