import { valueAt } from '../../session/lines/line-values.ts';
import type { Line, LinePoint } from '../../session/lines/line-schema.ts';
import type { Range } from '../../engine/engine.ts';
import type { Session } from '../../session/schema.ts';
import { TempoMap } from '../../session/tempo-map.ts';
import type { LineScale } from './line-scale.ts';
import { xAt } from './strip-geometry.ts';

/** Pieces in which a curve is drawn. */
const PIECES = 12;

/** Height of a place on the strip (0 lowest, 1 highest), px from above. */
export const yOf = (place: number, height: number): number => height * (1 - place);

/** The place at a height. */
export const placeAt = (y: number, height: number): number => 1 - Math.min(1, Math.max(0, y / height));

const rounded = (value: number): number => Math.round(10 * value) / 10;

/** A line over a strip that shows this range of the song, as the path of a drawing; what holds goes across, then up or down. */
export const linePath = (
  { points, unit }: { readonly points: readonly LinePoint[]; readonly unit: Line['unit'] },
  scale: LineScale,
  session: Session,
  width: number,
  height: number,
  range: Range,
): string => {
  const map = new TempoMap(session);
  const x = (at: number): number => rounded(xAt(unit === 'bars' ? map.secondsAt(at) : at, width, range));
  const y = (at: number): number => rounded(yOf(scale.place(valueAt(points, at)), height));
  const parts = points.map(({ at, curve }, n) => {
    const after = points[n + 1];
    if (!after) return `H${width}`;
    if (curve === 'hold') return `H${x(after.at)}V${y(after.at)}`;
    return Array.from({ length: PIECES }, (_, piece) => {
      const to = at + ((piece + 1) / PIECES) * (after.at - at);
      return `L${x(to)} ${y(to)}`;
    }).join('');
  });
  const first = points[0]!;
  return `M0 ${y(first.at)}H${x(first.at)}${parts.join('')}`;
};
