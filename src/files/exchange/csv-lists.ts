import { csvFormatRows } from 'd3-dsv';
import { isControl, controlOf, MIX_BUS } from '../../session/lines/controls.ts';
import { targetTitle } from '../../session/lines/line-words.ts';
import type { Line, LineValue } from '../../session/lines/line-schema.ts';
import { CLOSED_DB, type Session } from '../../session/schema.ts';
import { TempoMap } from '../../session/tempo-map.ts';

type Cell = string | number | boolean | null;

/** CSV as in RFC 4180, but with line feeds only; the first row names the columns. */
const csv = (rows: readonly (readonly Cell[])[]): string =>
  `${csvFormatRows(rows.map((row) => row.map((cell) => (cell === null ? '' : String(cell)))))}\n`;

/** A level in dB; a closed fader is `-inf`. */
const level = (db: number): Cell => (db <= CLOSED_DB ? '-inf' : db);

/** Times are rounded to a millionth of a second or bar, which is less than a sample. */
const place = (value: number): number => Number(value.toFixed(6));

/** Every track, group and bus, and the mix bus, with its level. */
const levelsCsv = ({ tracks, groups, buses, mixBus }: Session): string =>
  csv([
    ['kind', 'id', 'name', 'file', 'group', 'on', 'level_db', 'pan', 'channels', 'polarity', 'offset_s', 'key'],
    ...tracks.map(({ id, name, file, group, on, gainDb, pan, channels, polarity, offsetSeconds, key }): Cell[] => [
      ...['track', id, name, file, group, on, level(gainDb), pan, channels, polarity, offsetSeconds, key],
    ]),
    ...groups.map(({ id, name, on, faderDb, key }): Cell[] => [
      ...['group', id, name, null, null, on, level(faderDb), null, null, null, null, key],
    ]),
    ...buses.map(({ id, name, on, blendDb, key }): Cell[] => [
      ...['bus', id, name, null, null, on, level(blendDb), null, null, null, null, key],
    ]),
    ['mix bus', MIX_BUS, 'Mix bus', null, null, true, mixBus.trimDb, null, null, null, null, null],
  ]);

const sendsCsv = (session: Session): string => {
  const { tracks, groups, buses, rough } = session;
  const senders = [...tracks, ...groups, ...buses, ...(rough ? [{ id: 'rough', name: 'Rough', ...rough }] : [])];
  const names = new Map(buses.map(({ id, name }) => [id, name]));
  return csv([
    ['from_id', 'from', 'to_id', 'to', 'level_db', 'tap', 'on'],
    ...senders.flatMap(({ id, name, sends }) =>
      sends.map(({ to, levelDb, tap, on }): Cell[] => [id, name, to, names.get(to) ?? to, level(levelDb), tap, on]),
    ),
  ]);
};

const sectionsCsv = (session: Session, map: TempoMap): string =>
  csv([
    ['name', 'start_s', 'end_s', 'start_bar', 'end_bar'],
    ...session.sections.map(({ name, startSeconds, endSeconds }): Cell[] => [
      ...[name, startSeconds, endSeconds, place(map.barAt(startSeconds)), place(map.barAt(endSeconds))],
    ]),
  ]);

/** The song's start first; a ramp reaches the tempo of its row linearly in quarter notes. */
const tempoCsv = ({ tempo, meter, tempoChanges, meterChanges }: Session, map: TempoMap): string => {
  const rows = [
    { bar: 1, tempo, how: 'step', meter },
    ...tempoChanges.map((change) => ({ ...change, meter: null })),
    ...meterChanges.map((change) => ({ ...change, tempo: null, how: null })),
  ].sort((a, b) => a.bar - b.bar);
  return csv([
    ['bar', 'seconds', 'tempo_bpm', 'how', 'meter'],
    ...rows.map((row): Cell[] => [
      ...[row.bar, place(map.secondsAt(row.bar)), row.tempo, row.how, row.meter?.join('/') ?? null],
    ]),
  ]);
};

const lineValue = ({ target }: Line, value: LineValue): Cell =>
  (target.what === 'level' || target.what === 'send') && typeof value === 'number' ? level(value) : value;

/** Every point of every line. */
const linesCsv = (session: Session, map: TempoMap): string =>
  csv([
    ['line', 'of_id', 'what', 'unit', 'on', 'seconds', 'bar', 'value', 'curve'],
    ...session.lines.flatMap((line) => {
      const { target, unit, on, points } = line;
      const control = controlOf(session, target);
      const valueUnit = isControl(control) && 'unit' in control.parameter ? control.parameter.unit : '';
      return points.map(({ at, value, curve }): Cell[] => {
        const [seconds, bar] = unit === 'bars' ? [map.secondsAt(at), at] : [at, map.barAt(at)];
        const owner = [targetTitle(session, target), target.of, target.what, valueUnit, on];
        return [...owner, place(seconds), place(bar), lineValue(line, value), curve];
      });
    }),
  ]);

/** Levels and pans, sends, sections, tempo map and lines of a session, as a table each. Decimal points; README lists the columns. */
export const csvLists = (session: Session): { readonly name: string; readonly content: string }[] => {
  const map = new TempoMap(session);
  return [
    { name: 'levels.csv', content: levelsCsv(session) },
    { name: 'sends.csv', content: sendsCsv(session) },
    { name: 'sections.csv', content: sectionsCsv(session, map) },
    { name: 'tempo.csv', content: tempoCsv(session, map) },
    { name: 'lines.csv', content: linesCsv(session, map) },
  ];
};
