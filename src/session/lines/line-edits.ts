import type { Parameter } from '../../dsp/core/parameter.ts';
import type { Range } from '../../audio/range.ts';
import { put, requireConsistent } from '../edits/edit-tools.ts';
import { setSend } from '../edits/edits.ts';
import { noteMs, parseNoteValue } from '../note-values.ts';
import { freeId, idFrom } from '../ids.ts';
import { CLOSED_DB, type Section, type Session } from '../schema.ts';
import { TempoMap } from '../tempo-map.ts';
import { controlOf, isControl, isThere, targetText, type Control } from './controls.ts';
import { type Line, type LinePoint, type LineTarget, type LineValue } from './line-schema.ts';
import { withFaderAtLine } from './level-lines.ts';
import { LEAST_DISTANCE, valueAt, withStretch } from './line-values.ts';

// Edits of lines over time, under the rules of `edits.ts`.

/** The line of a target; undefined: it has none. */
export const lineOf = ({ lines }: Pick<Session, 'lines'>, target: LineTarget): Line | undefined =>
  lines.find((line) => targetText(line.target) === targetText(target));

const placeOf = ({ lines }: Session, id: string): number => {
  const place = lines.findIndex((line) => line.id === id);
  if (place < 0) throw new RangeError(`the session has no line "${id}"`);
  return place;
};

const controlFor = (session: Session, target: LineTarget): Control => {
  const control = controlOf(session, target);
  if (!isControl(control)) throw new RangeError(`there is nothing that "${targetText(target)}" would move`);
  return control;
};

const replaced = (session: Session, place: number, line: Line): Session =>
  withFaderAtLine(requireConsistent({ ...session, lines: session.lines.with(place, line) }), line.target.of);

/** Adds a line in place of the one that its target has; its id comes from the target. */
export const setLine = (session: Session, line: Omit<Line, 'id'>): Session => {
  const before = lineOf(session, line.target);
  if (before) return replaced(session, placeOf(session, before.id), { ...line, id: before.id });
  const words = Object.values(line.target).join(' ');
  const id = freeId(idFrom(words), new Set(session.lines.map((each) => each.id)));
  return withFaderAtLine(requireConsistent({ ...session, lines: [...session.lines, { ...line, id }] }), line.target.of);
};

/** Takes a line out: what it moved stands where its setting is. */
export const removeLine = (session: Session, id: string): Session => ({
  ...session,
  lines: session.lines.toSpliced(placeOf(session, id), 1),
});

export const setLineOn = (session: Session, id: string, on: boolean): Session => {
  const place = placeOf(session, id);
  const line = put(session.lines[place]!, { on });
  return line === session.lines[place] ? session : { ...session, lines: session.lines.with(place, line) };
};

/**
 * Puts a point on the line of a target, in place of one that is at the same time; where there is no line yet, makes one, in seconds.
 */
export const addPoint = (session: Session, target: LineTarget, point: LinePoint): Session => {
  const line = lineOf(session, target);
  const points = [...(line?.points ?? []).filter(({ at }) => Math.abs(at - point.at) >= LEAST_DISTANCE), point];
  return setLine(session, {
    ...(line ?? { unit: 'seconds', on: true, target }),
    points: points.sort((a, b) => a.at - b.at),
  });
};

/** What a control stands at without its line; a note value in ms at the song's first tempo. */
const standingValue = (session: Session, target: LineTarget): LineValue => {
  const { parameter, setting } = controlFor(session, target);
  const note = parameter.kind === 'number' && typeof setting === 'string' ? parseNoteValue(setting) : null;
  return note ? withinRange(parameter, noteMs(note, session.tempo, session.meter)) : setting;
};

/** What a target is at a moment of the song (seconds): what its line says, or where there is none, its setting. */
export const valueOfTarget = (session: Session, target: LineTarget, seconds: number): LineValue => {
  const line = lineOf(session, target);
  return line ? valueAt(line.points, placeIn(session, line)(seconds)) : standingValue(session, target);
};

/** The point of a line that stands at a moment (seconds), by its place; -1: none does. */
export const pointAt = (session: Session, line: Line, seconds: number): number => {
  const at = placeIn(session, line)(seconds);
  return line.points.findIndex((point) => Math.abs(point.at - at) < LEAST_DISTANCE);
};

/**
 * Puts a point on the line of a target at a moment (seconds), where the line or the setting is unless a value is given. It goes on as the
 * point before it does; the first of what is a number goes straight.
 */
export const addPointAt = (session: Session, target: LineTarget, seconds: number, value?: LineValue): Session => {
  const { parameter } = controlFor(session, target);
  const line = lineOf(session, target);
  const at = line ? placeIn(session, line)(seconds) : seconds;
  const before = line?.points.findLast((point) => point.at <= at);
  const curve = before?.curve ?? (parameter.kind === 'number' ? 'linear' : 'hold');
  return addPoint(session, target, {
    ...{ at, curve },
    value: withinRange(parameter, value ?? valueOfTarget(session, target, seconds)),
  });
};

const withinRange = (parameter: Parameter, value: LineValue): LineValue =>
  parameter.kind === 'number' && typeof value === 'number'
    ? Math.min(parameter.max, Math.max(parameter.min, value))
    : value;

/** Changes a point: it stays between its neighbours, and its value within the range. */
export const changePoint = (session: Session, id: string, index: number, fields: Partial<LinePoint>): Session => {
  const place = placeOf(session, id);
  const line = session.lines[place]!;
  const point = line.points[index];
  if (!point) throw new RangeError(`the line "${id}" has no point ${index}`);
  const { parameter } = controlFor(session, line.target);
  const least = index > 0 ? line.points[index - 1]!.at + LEAST_DISTANCE : originOf(line);
  const most = index < line.points.length - 1 ? line.points[index + 1]!.at - LEAST_DISTANCE : Infinity;
  const at = Math.max(least, Math.min(most, fields.at ?? point.at));
  const changed = put(point, { ...fields, at, value: withinRange(parameter, fields.value ?? point.value) });
  return changed === point ? session : replaced(session, place, { ...line, points: line.points.with(index, changed) });
};

/** Takes a point out, and the line with its last one. */
export const removePoint = (session: Session, id: string, index: number): Session => {
  const place = placeOf(session, id);
  const line = session.lines[place]!;
  if (!line.points[index]) throw new RangeError(`the line "${id}" has no point ${index}`);
  if (line.points.length === 1) return removeLine(session, id);
  return replaced(session, place, { ...line, points: line.points.toSpliced(index, 1) });
};

/** A place in seconds as a line counts. */
const placeIn = (session: Session, { unit }: Pick<Line, 'unit'>): ((seconds: number) => number) => {
  const map = new TempoMap(session);
  return (seconds) => (unit === 'bars' ? map.barAt(seconds) : seconds);
};

/** Where the song begins. */
const originOf = ({ unit }: Pick<Line, 'unit'>): number => (unit === 'bars' ? 1 : 0);

/** The line of a target, or one that holds the setting as it stands. */
const lineOrStanding = (session: Session, target: LineTarget): Omit<Line, 'id'> =>
  lineOf(session, target) ?? {
    ...{ target, unit: 'seconds', on: true },
    points: [{ at: 0, value: standingValue(session, target), curve: 'hold' }],
  };

/** Has the line of a target go through `inside` (at seconds, the first at its start) over a stretch of the song; around it all stays as it was. */
export const overStretch = (
  session: Session,
  target: LineTarget,
  { startSeconds, endSeconds }: Range,
  inside: readonly LinePoint[],
): Session => {
  const line = lineOrStanding(session, target);
  const at = placeIn(session, line);
  const placed = inside.map((point) => ({ ...point, at: at(point.at) }));
  const points = withStretch(line.points, at(startSeconds), at(endSeconds), placed, originOf(line));
  return setLine(session, { ...line, points });
};

/** Sets a control at a moment of the song (seconds): until then it is as it was, from then on this, until the next point of its line. */
export const setFrom = (session: Session, target: LineTarget, seconds: number, value: LineValue): Session => {
  const line = lineOrStanding(session, target);
  const at = placeIn(session, line)(seconds);
  const next = line.points.find((point) => point.at >= at + LEAST_DISTANCE);
  const points = withStretch(line.points, at, next?.at ?? Infinity, [{ at, value, curve: 'hold' }], originOf(line));
  return setLine(session, { ...line, points: next ? points : points.slice(0, -1) });
};

/** Holds a value over a stretch of the song (seconds); around it all stays as it was. */
export const holdOver = (session: Session, target: LineTarget, over: Range, value: LineValue): Session =>
  overStretch(session, target, over, [{ at: over.startSeconds, value, curve: 'hold' }]);

/**
 * A throw: the send to a bus is opened over a stretch (seconds), and closed again. A send that is not there yet, or stands at the level of
 * the throw or above it without a line, is closed elsewhere: the throw would not be heard otherwise.
 */
export const throwSend = (session: Session, from: string, to: string, over: Range, levelDb = 0): Session => {
  const target: LineTarget = { of: from, what: 'send', to };
  const sending = isThere(session, target) ? session : setSend(session, from, to, { levelDb: CLOSED_DB });
  const standsAt = Number(controlFor(sending, target).setting);
  if (lineOf(sending, target) || standsAt < levelDb) return holdOver(sending, target, over, levelDb);
  const { startSeconds, endSeconds } = over;
  const closed = (at: number): LinePoint => ({ at, value: CLOSED_DB, curve: 'hold' });
  const points = [
    ...(startSeconds > 0 ? [closed(0)] : []),
    { at: startSeconds, value: standsAt, curve: 'hold' as const },
    closed(endSeconds),
  ];
  return setLine(sending, { target, unit: 'seconds', on: true, points });
};

/**
 * A section switch: what a switch (`on`, or the `bypass` of a processor) is within these sections, and the opposite outside of them. It
 * replaces the line that was there.
 */
export const switchInSections = (
  session: Session,
  target: LineTarget,
  sections: readonly Section[],
  within: boolean,
): Session => {
  const spans = joined(sections);
  const first: LinePoint[] = spans[0]?.startSeconds === 0 ? [] : [{ at: 0, value: !within, curve: 'hold' }];
  const points = spans.flatMap(({ startSeconds, endSeconds }): LinePoint[] => [
    { at: startSeconds, value: within, curve: 'hold' },
    { at: endSeconds, value: !within, curve: 'hold' },
  ]);
  return setLine(session, { target, unit: 'seconds', on: true, points: [...first, ...points] });
};

/** Sections as stretches in order, those that touch or overlap as one. */
const joined = (sections: readonly Section[]): Range[] => {
  const spans: Range[] = [];
  for (const { startSeconds, endSeconds } of sections.toSorted((a, b) => a.startSeconds - b.startSeconds)) {
    const last = spans.at(-1);
    if (last && startSeconds <= last.endSeconds + LEAST_DISTANCE)
      spans[spans.length - 1] = { ...last, endSeconds: Math.max(last.endSeconds, endSeconds) };
    else spans.push({ startSeconds, endSeconds });
  }
  return spans;
};

/**
 * Copies what the lines of a path do in one section to another, from its start on, as long as both last. (An s-curve that a section cuts is
 * drawn anew from there.)
 */
export const copyBetweenSections = (session: Session, of: string, from: Section, to: Section): Session =>
  session.lines
    .filter(({ target }) => target.of === of)
    .reduce((edited, line) => {
      const at = placeIn(session, line);
      const seconds = Math.min(from.endSeconds - from.startSeconds, to.endSeconds - to.startSeconds);
      const [start, end] = [at(from.startSeconds), at(from.startSeconds + seconds)];
      const [toStart, toEnd] = [at(to.startSeconds), at(to.startSeconds + seconds)];
      const under = line.points.findLast((point) => point.at <= start) ?? line.points[0]!;
      const inside = [
        { ...under, at: toStart, value: valueAt(line.points, start) },
        ...line.points
          .filter((point) => point.at > start && point.at < end)
          .map((point) => ({ ...point, at: point.at - start + toStart }))
          .filter((point) => point.at < toEnd),
      ];
      return setLine(edited, { ...line, points: withStretch(line.points, toStart, toEnd, inside, originOf(line)) });
    }, session);
