import { requireValid } from './edits/edit-tools.ts';
import { sessionSchema, type Marker, type Session } from './schema.ts';

/** Markers in the order of their places. */
export const markersOf = ({ markers }: Pick<Session, 'markers'>): readonly Marker[] => markers ?? [];

/**
 * The session with these markers, put in order.
 * @throws ProblemError where a name or a place cannot be one
 */
export const setMarkers = (session: Session, markers: readonly Marker[]): Session => {
  const ordered = markers.toSorted((a, b) => a.seconds - b.seconds);
  requireValid(sessionSchema.shape.markers, ordered, ['markers']);
  return { ...session, markers: ordered };
};

/** "Marker 3": the first number from their count on that is free. */
export const newMarkerName = (markers: readonly Marker[]): string => {
  let number = markers.length + 1;
  while (markers.some(({ name }) => name === `Marker ${number}`)) number++;
  return `Marker ${number}`;
};

export const addMarker = (session: Session, seconds: number): Session =>
  setMarkers(session, [...markersOf(session), { name: newMarkerName(markersOf(session)), seconds }]);

/** Places of the song that have a name: beginnings of sections, and markers. */
export const placesOf = (session: Pick<Session, 'sections' | 'markers'>): Marker[] => [
  ...session.sections.map(({ name, startSeconds }) => ({ name, seconds: startSeconds })),
  ...markersOf(session),
];
