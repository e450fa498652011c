import type { Session } from '../schema.ts';
import { targetText } from './controls.ts';
import type { LineTarget } from './line-schema.ts';

/**
 * What is switched off by hand is off for the whole song, whatever its line says: the line (of an `on` or a `bypass`) is off with it, and on
 * again with it.
 */
export const withSwitchLine = (session: Session, target: LineTarget, on: boolean): Session => {
  const place = session.lines.findIndex((line) => targetText(line.target) === targetText(target));
  const line = session.lines[place];
  return !line || line.on === on ? session : { ...session, lines: session.lines.with(place, { ...line, on }) };
};
