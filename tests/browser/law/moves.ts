import fc from 'fast-check';
import * as chainEdit from '../../../src/session/chain/chain-edits.ts';
import { setBlends } from '../../../src/session/edits/blend-edits.ts';
import * as edit from '../../../src/session/edits/edits.ts';
import { moveTrack } from '../../../src/session/edits/move-track.ts';
import { deletePass, restorePass, savePass } from '../../../src/session/passes/passes.ts';
import { CLOSED_DB, type Session } from '../../../src/session/schema.ts';
import type { Bench } from '../../../src/ui/bench/bench.svelte.ts';

/** One thing that a user does; the numbers choose what it is done to, and how far. */
export interface Move {
  readonly does: string;
  readonly n: number;
  readonly m: number;
  readonly db: number;
  /** Whether the user waits until everything is measured before going on. */
  readonly rests: boolean;
}

const PROCESSORS = ['gain', 'eq', 'compressor', 'delay', 'saturator', 'limiter'];

const at = <T>(list: readonly T[], n: number): T | undefined => list[n % Math.max(1, list.length)];
const paths = ({ groups, buses }: Session) => [...groups, ...buses];
const owners = (session: Session): string[] => [...paths(session).map(({ id }) => id), chainEdit.MIX];

type Change = (session: Session, move: Move) => Session;

/** A change of the `n`-th of a list, or none where it is empty. */
const ofNth =
  <T>(list: (session: Session) => readonly T[], change: (s: Session, member: T, move: Move) => Session): Change =>
  (session, move) => {
    const member = at(list(session), move.n);
    return member === undefined ? session : change(session, member, move);
  };

const buses = (session: Session) => session.buses;
const groups = (session: Session) => session.groups;
const tracks = (session: Session) => session.tracks;

/** What changes the session, each as the screen's own edit. */
const CHANGES: Readonly<Record<string, Change>> = {
  'add a bus': (s) => edit.addBus(s, { name: 'New bus' }),
  'add a group': (s) => edit.addGroup(s, 'New group'),
  feed: ofNth(paths, (s, { id }, { m, db }) => {
    const bus = at(s.buses, m);
    return bus ? edit.setSend(s, id, bus.id, { levelDb: db }) : s;
  }),
  'stop feeding': ofNth(paths, (s, { id, sends }, { m }) => {
    const send = at(sends, m);
    return send ? edit.removeSend(s, id, send.to) : s;
  }),
  'remove a bus': ofNth(buses, (s, { id }) => edit.removeBus(s, id)),
  'remove a group': ofNth(groups, (s, { id }) => edit.removeGroup(s, id)),
  'remove a track': ofNth(tracks, (s, { id }) => edit.removeTrack(s, id)),
  mute: ofNth(paths, (s, { id, on }) => edit.setOn(s, id, !on)),
  'mute a track': ofNth(tracks, (s, { id, on }) => edit.setOn(s, id, !on)),
  'move a track': ofNth(tracks, (s, { id }, { m }) => moveTrack(s, id, at(s.groups, m)!.id, m % 2 === 0)),
  'change a track': ofNth(tracks, (s, { id }, { m, db }) =>
    edit.changeTrack(s, id, { gainDb: db / 4, polarity: m % 2 === 0 ? 'normal' : 'inverted' }),
  ),
  blend: ofNth(buses, (s, { id }, { db }) => edit.setBlend(s, id, db)),
  close: ofNth(buses, (s, { id }) => edit.setBlend(s, id, CLOSED_DB)),
  fader: ofNth(groups, (s, { id }, { db }) => edit.setFader(s, id, db / 4)),
  'add a processor': ofNth(owners, (s, owner, { m }) => chainEdit.addProcessor(s, owner, at(PROCESSORS, m)!)),
  'edit a processor': ofNth(owners, (s, owner, { m, db }) => {
    const item = at(chainEdit.chainOf(s, owner), m);
    return item ? chainEdit.setMix(s, owner, item.id, 60 + db) : s;
  }),
  'bypass a processor': ofNth(owners, (s, owner, { m }) => {
    const item = at(chainEdit.chainOf(s, owner), m);
    return item ? chainEdit.setProcessorOn(s, owner, item.id, !item.on) : s;
  }),
  'remove a processor': ofNth(owners, (s, owner, { m }) => {
    const item = at(chainEdit.chainOf(s, owner), m);
    return item ? chainEdit.removeProcessor(s, owner, item.id) : s;
  }),
  'move a processor': ofNth(owners, (s, owner, { m }) => {
    const item = at(chainEdit.chainOf(s, owner), m);
    return item ? chainEdit.moveProcessor(s, owner, item.id, 0) : s;
  }),
  sections: (s, { n }) => edit.setSections(s, [{ name: 'Part', startSeconds: 0, endSeconds: 0.5 + n / 10 }]),
  'save a pass': (s) => savePass(s, 'Pass'),
  'restore a pass': ofNth(
    (s) => s.passes,
    (s, { id }) => restorePass(s, id),
  ),
  'delete a pass': ofNth(
    (s) => s.passes,
    (s, { id }) => deletePass(s, id),
  ),
};

/** What is done with the history, and with blends that were found. */
const STEPS: Readonly<Record<string, (bench: Bench, move: Move) => void>> = {
  undo: (bench) => bench.undo(),
  redo: (bench) => bench.redo(),
  'hear other blends': (bench, { db, m }) =>
    bench.preview('found blends', (s) =>
      setBlends(s, new Map(s.buses.map(({ id, blendDb }, n) => [id, n % 2 === m % 2 ? blendDb : db - n]))),
    ),
  'discard them': (bench) => bench.discardPreview(),
  'apply them': (bench) => bench.applyPreview(),
};

/** Does one move, as the screen does it; one that the session refuses changes nothing. */
export const make = (bench: Bench, move: Move): void => {
  const change = CHANGES[move.does];
  if (change) bench.edit(move.does, (session) => change(session, move));
  else STEPS[move.does]!(bench, move);
};

const move: fc.Arbitrary<Move> = fc.record({
  does: fc.constantFrom(...Object.keys(CHANGES), ...Object.keys(STEPS)),
  n: fc.nat(7),
  m: fc.nat(7),
  db: fc.integer({ min: -40, max: 10 }),
  rests: fc.boolean(),
});

/** Sequences of moves. */
export const sequences = (longest: number): fc.Arbitrary<Move[]> =>
  fc.array(move, { minLength: 1, maxLength: longest, size: 'max' });
