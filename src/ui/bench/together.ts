import { setOn, setSend } from '../../session/edits/edits.ts';
import { CLOSED_DB, type Session } from '../../session/schema.ts';
import { counted } from '../shared/format.ts';
import { clampLevel } from '../stream/decibel-scale.ts';
import type { Bench } from './bench.svelte.ts';
import { LEVEL_NAMES, pathRow, possibleFeeders, setLevel, type PathRow } from './paths.ts';

// What is done to one of several selected rows is done to all of them.

/** The rows that go with this one: all that are selected, if it is one of them; else itself. */
export const rowsWith = ({ selection, session }: Bench, id: string): PathRow[] =>
  (selection.paths.includes(id) ? selection.paths : [id]).map((path) => pathRow(session!, path));

const nameOf = (rows: readonly PathRow[]): string => (rows.length === 1 ? rows[0]!.name : counted(rows.length, 'path'));

/** Moves a level by hand; those that are selected with it move by as many decibels, and to −∞ with it. */
export const moveLevels = (bench: Bench, row: PathRow, levelDb: number, settling: boolean): void => {
  const rows = rowsWith(bench, row.id).filter(({ id, kind }) => id === row.id || kind === 'group' || kind === 'bus');
  const isAll = levelDb <= CLOSED_DB || row.levelDb <= CLOSED_DB;
  const levelOf = (each: PathRow): number => {
    if (each.id === row.id || isAll) return levelDb;
    return each.levelDb <= CLOSED_DB ? CLOSED_DB : clampLevel(each.levelDb + levelDb - row.levelDb);
  };
  const word = rows.length === 1 ? LEVEL_NAMES[row.kind].toLowerCase() : 'level of';
  const edit = (session: Session): Session => rows.reduce((now, each) => setLevel(now, each, levelOf(each)), session);
  bench.edit(`${word} ${nameOf(rows)}`, edit, settling ? `${word} ${row.id}` : null);
};

/** Mutes a path, or ends that, and all that are selected with it. */
export const muteTogether = (bench: Bench, row: PathRow): void => {
  const rows = rowsWith(bench, row.id).filter(({ kind }) => kind !== 'mix' && kind !== 'rough');
  bench.edit(`${row.on ? 'mute' : 'unmute'} ${nameOf(rows)}`, (session) =>
    rows.reduce((now, each) => setOn(now, each.id, !row.on), session),
  );
};

/** Those of the rows that go with this one which could be made to feed a bus as well. */
export const feedersAmong = (bench: Bench, id: string, bus: string): PathRow[] => {
  const possible = new Set(possibleFeeders(bench.session!, bus).map((feeder) => feeder.id));
  return rowsWith(bench, id).filter((row) => possible.has(row.id));
};

/** Makes a path feed a bus, at 0 dB after its fader, and all that are selected with it. */
export const sendTogether = (bench: Bench, id: string, bus: string): void => {
  const rows = feedersAmong(bench, id, bus);
  if (rows.length === 0) return;
  bench.edit(`send ${nameOf(rows)} to ${pathRow(bench.session!, bus).name}`, (session) =>
    rows.reduce((now, row) => setSend(now, row.id, bus), session),
  );
};
