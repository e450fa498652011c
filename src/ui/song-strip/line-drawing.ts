import { valueAt } from '../../session/lines/line-values.ts';
import type { Line } from '../../session/lines/line-schema.ts';
import { CLOSED_DB, type Session } from '../../session/schema.ts';
import { TempoMap } from '../../session/tempo-map.ts';
import { xAt } from './strip-geometry.ts';

/** Levels at the lower and upper edge of the strip, dB. */
const LOW = -60;
const HIGH = 12;
/** Pieces in which a curve is drawn. */
const PIECES = 12;

/** Height of a level on the strip, px from above. */
export const yOf = (db: number, height: number): number =>
  height * (1 - (Math.min(HIGH, Math.max(LOW, db)) - LOW) / (HIGH - LOW));

/** The level at a height on the strip, dB; closed at its lower edge. */
export const dbAt = (y: number, height: number): number => {
  const db = LOW + (1 - Math.min(1, Math.max(0, y / height))) * (HIGH - LOW);
  return db <= LOW ? CLOSED_DB : db;
};

const rounded = (value: number): number => Math.round(10 * value) / 10;

/** A line of a level over the whole strip, as the path of a drawing; what holds goes across, then up or down. */
export const levelPath = (
  { points, unit }: Line,
  session: Session,
  width: number,
  height: number,
  seconds: number,
): string => {
  const map = new TempoMap(session);
  const x = (at: number): number => rounded(xAt(unit === 'bars' ? map.secondsAt(at) : at, width, seconds));
  const y = (at: number): number => rounded(yOf(Number(valueAt(points, at)), height));
  const parts = points.map(({ at, curve }, n) => {
    const after = points[n + 1];
    if (!after) return `H${width}`;
    if (curve === 'hold') return `H${x(after.at)}V${y(after.at)}`;
    return Array.from({ length: PIECES }, (_, piece) => {
      const to = at + ((piece + 1) / PIECES) * (after.at - at);
      return `L${x(to)} ${y(to)}`;
    }).join('');
  });
  const [first] = points as [Line['points'][number]];
  return `M0 ${y(first.at)}H${x(first.at)}${parts.join('')}`;
};
