import { put } from '../edits/edit-tools.ts';
import { inARow } from '../problem.ts';
import { CLOSED_DB, LOUDEST_DB, type Session } from '../schema.ts';
import type { Line, LineValue } from './line-schema.ts';

/** The line that stands in for the fader of a group or the blend of a bus; undefined: it stands still. */
export const levelLineOf = ({ lines }: Pick<Session, 'lines'>, id: string): Line | undefined =>
  lines.find(({ on, target }) => on && target.of === id && target.what === 'level');

const numbersOf = ({ points }: Line): number[] => points.map(({ value }) => Number(value));

/** Fader of a group, or blend of a bus, dB; of one that a line moves, where it is loudest. */
export const levelDbOf = (session: Session, id: string): number => {
  const line = levelLineOf(session, id);
  if (line) return numbersOf(line).reduce((a, b) => Math.max(a, b));
  const group = session.groups.find((path) => path.id === id);
  return group ? group.faderDb : session.buses.find((path) => path.id === id)!.blendDb;
};

/**
 * A fader or blend that a line moves is moved with it, as a whole: where the line is loudest it comes to `toDb`. What would fall
 * below the range stays closed.
 */
export const withLevelLineAt = (session: Session, id: string, toDb: number): Session => {
  const line = levelLineOf(session, id);
  if (!line) return session;
  const by = toDb - numbersOf(line).reduce((a, b) => Math.max(a, b));
  if (by === 0) return session;
  const moved = (value: LineValue): number => {
    const db = Number(value);
    return db <= CLOSED_DB ? CLOSED_DB : Math.min(LOUDEST_DB, Math.max(CLOSED_DB, db + by));
  };
  const points = line.points.map((point) => ({ ...point, value: moved(point.value) }));
  return { ...session, lines: session.lines.map((each) => (each === line ? { ...line, points } : each)) };
};

/** Has the fader or blend that a line stands in for stand where that is loudest, as it is then shown. */
export const withFaderAtLine = (session: Session, id: string): Session => {
  if (!levelLineOf(session, id)) return session;
  const db = levelDbOf(session, id);
  return {
    ...session,
    groups: session.groups.map((group) => (group.id === id ? put(group, { faderDb: db }) : group)),
    buses: session.buses.map((bus) => (bus.id === id ? put(bus, { blendDb: db }) : bus)),
  };
};

/** What a reader must know of figures along blends of these buses; none where nothing moves their blends. */
export const levelLineNotes = (session: Session, ids: readonly string[]): string[] => {
  const names = session.buses.filter(({ id }) => ids.includes(id) && levelLineOf(session, id)).map(({ name }) => name);
  if (names.length === 0) return [];
  const [have, whole] = names.length === 1 ? ['has', 'it'] : ['have', 'each'];
  return [
    `${inARow(names)} ${have} a blend that moves along the song: ${whole} is moved as a whole, and named where it is loudest.`,
  ];
};
