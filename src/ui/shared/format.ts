import { clock } from '../../audio/clock.ts';
import { hertz, NO_FIGURE, plain } from '../../files/page/axis-words.ts';
import type { Session } from '../../session/schema.ts';

export { clock, hertz, NO_FIGURE, plain };

const MINUS = '\u2212';

/** Words from the engine, with true minus signs. */
export const withMinus = (words: string): string => words.replace(/(^|[\s(])-(?=\d)/g, `$1${MINUS}`);

/** A change: with its sign, and none on zero. */
export const signed = (value: number | null | undefined, digits = 1): string => {
  const text = plain(value, digits);
  return value !== null && value !== undefined && value > 0 && Number(text) !== 0 ? `+${text}` : text;
};

const TYPED = /^\s*([+\-\u2212]?)\s*(\d+(?:[.,]\d*)?|[.,]\d+)\s*([a-z%:/\s1]*?)\s*$/i;

/** What may stand after a typed number, and how often it goes into the field's own unit. */
const typedUnits = (unit: string): Readonly<Record<string, number>> => {
  const own = { '': 1, [unit.replace(/\s/g, '').toLowerCase()]: 1, k: 1000 };
  if (unit === 'Hz') return { ...own, khz: 1000 };
  if (unit === 'ms') return { '': 1, ms: 1, s: 1000 };
  return unit === 's' ? { '': 1, s: 1, ms: 0.001 } : own;
};

/**
 * Reads what a user typed into a field of `unit`: a plain number, a comma is a point, any minus is a minus, k makes
 * thousands, the unit may stand after it. null: it is something else.
 */
export const readNumber = (text: string, unit = ''): number | null => {
  const match = TYPED.exec(text);
  const times = match && typedUnits(unit)[match[3]!.replace(/\s/g, '').toLowerCase()];
  if (!match || times === null || times === undefined) return null;
  const size = Number(match[2]!.replace(',', '.')) * times;
  return match[1] === '' || match[1] === '+' ? size : -size;
};

/** Seconds in a beat: the tempo counts quarter notes whatever the meter. */
export const beatSeconds = ({ tempo, meter }: Pick<Session, 'tempo' | 'meter'>): number =>
  (60 / tempo) * (4 / meter[1]);

/** A sample rate: 48 kHz, 44.1 kHz. */
export const kilohertz = (hz: number): string => `${Number((hz / 1000).toFixed(3))} kHz`;

export const counted = (count: number, one: string, many = `${one}s`): string => `${count} ${count === 1 ? one : many}`;
