import type { Parameter } from '../../dsp/core/parameter.ts';
import { controlOf, isControl } from '../../session/lines/controls.ts';
import { lineOf, valueOfTarget } from '../../session/lines/line-edits.ts';
import type { Line, LinePoint, LineTarget } from '../../session/lines/line-schema.ts';
import { controlTitle, targetTitle } from '../../session/lines/line-words.ts';
import type { Session } from '../../session/schema.ts';
import type { TempoMap } from '../../session/tempo-map.ts';
import { hueOf } from '../shared/hue.ts';

/** What the song strip shows over time of the path on the bench. */
export interface ShownLine {
  readonly target: LineTarget;
  readonly parameter: Parameter;
  /** undefined: it stands still. */
  readonly line: Line | undefined;
  /** Those of its line, or the one value at which it stands. */
  readonly points: readonly LinePoint[];
  readonly unit: Line['unit'];
  /** "Drums, fader", and "Fader" alone. */
  readonly title: string;
  readonly short: string;
  readonly hue: string;
}

export const shownLine = (session: Session, target: LineTarget | null): ShownLine | null => {
  const control = target && controlOf(session, target);
  if (!target || !control || !isControl(control)) return null;
  const line = lineOf(session, target);
  const standing: LinePoint = { at: 0, value: valueOfTarget(session, target, 0), curve: 'hold' };
  // A track has the colour of its group.
  const path = session.tracks.find(({ id }) => id === target.of)?.group ?? target.of;
  return {
    ...{ target, line, parameter: control.parameter },
    points: line?.points ?? [standing],
    unit: line?.unit ?? 'seconds',
    title: targetTitle(session, target),
    short: controlTitle(session, target),
    hue: hueOf(session, path),
  };
};

/** A point's place in seconds, and a moment as the line counts places. */
export const secondsOfPoint = ({ unit }: ShownLine, map: TempoMap, at: number): number =>
  unit === 'bars' ? map.secondsAt(at) : at;
export const placeOfSeconds = ({ unit }: ShownLine, map: TempoMap, seconds: number): number =>
  unit === 'bars' ? map.barAt(Math.max(0, seconds)) : Math.max(0, seconds);
