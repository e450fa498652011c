import fc from 'fast-check';
import { expect, test } from 'vitest';
import { processors } from '../../src/dsp/core/registry.ts';
import * as chainEdit from '../../src/session/chain/chain-edits.ts';
import * as edit from '../../src/session/edits/edits.ts';
import { ROUGH } from '../../src/session/graph.ts';
import { moveTrack } from '../../src/session/edits/move-track.ts';
import { problemsOf } from '../../src/session/read/parse.ts';
import { ProblemError } from '../../src/session/problem.ts';
import type { Session } from '../../src/session/schema.ts';
import { sessions } from '../helpers/session-arbitrary.ts';
import { casesOf } from '../helpers/soak.ts';

type Edit = (session: Session) => Session;

const frozen = <T>(value: T): T => {
  if (typeof value === 'object' && value !== null && !Object.isFrozen(value)) {
    Object.freeze(value);
    Object.values(value).forEach(frozen);
  }
  return value;
};

const place = fc.nat(9);
const words = fc.string({ maxLength: 90 });
const level = fc.double({ min: -100, max: 40 });
const at = <T>(list: readonly T[], n: number): T | undefined => list[n % Math.max(1, list.length)];

/** An edit of the `n`-th member of something, or nothing where there is none. */
const onNth =
  <T>(list: (session: Session) => readonly T[], n: number, change: (session: Session, member: T) => Session): Edit =>
  (session) => {
    const member = at(list(session), n);
    return member === undefined ? session : change(session, member);
  };

const members = ({ tracks, groups, buses }: Session) => [...tracks, ...groups, ...buses];
const owners = (session: Session) => [
  chainEdit.MIX,
  ...(session.rough ? [ROUGH] : []),
  ...members(session).map(({ id }) => id),
];

const edits: fc.Arbitrary<Edit> = fc.oneof(
  fc.tuple(place, level).map(([n, db]) =>
    onNth(
      (s) => s.buses,
      n,
      (s, { id }) => edit.setBlend(s, id, db),
    ),
  ),
  fc.tuple(place, level).map(([n, db]) =>
    onNth(
      (s) => s.groups,
      n,
      (s, { id }) => edit.setFader(s, id, db),
    ),
  ),
  fc.tuple(place, words).map(([n, name]) => onNth(members, n, (s, { id }) => edit.rename(s, id, name))),
  fc.tuple(place, fc.boolean()).map(([n, on]) => onNth(members, n, (s, { id }) => edit.setOn(s, id, on))),
  words.map(
    (name): Edit =>
      (s) =>
        edit.addBus(s, { name }),
  ),
  words.map(
    (name): Edit =>
      (s) =>
        edit.addGroup(s, name),
  ),
  fc.tuple(place, words).map(([n, name]) =>
    onNth(
      (s) => s.groups,
      n,
      (s, { id }) => edit.addTrack(s, { name, file: 'new.wav', group: id }),
    ),
  ),
  place.map((n) =>
    onNth(
      (s) => s.buses,
      n,
      (s, { id }) => edit.removeBus(s, id),
    ),
  ),
  place.map((n) =>
    onNth(
      (s) => s.tracks,
      n,
      (s, { id }) => edit.removeTrack(s, id),
    ),
  ),
  fc.tuple(place, place, fc.boolean()).map(([n, m, keepsFeeds]) =>
    onNth(
      (s) => s.tracks,
      n,
      (s, { id }) => moveTrack(s, id, at(s.groups, m)!.id, keepsFeeds),
    ),
  ),
  place.map((n) =>
    onNth(
      (s) => s.groups,
      n,
      (s, { id }) => edit.removeGroup(s, id),
    ),
  ),
  fc
    .tuple(place, place, level)
    .map(([n, m, levelDb]) =>
      onNth(members, n, (s, { id }) => edit.setSend(s, id, at(members(s), m)!.id, { levelDb })),
    ),
  fc.tuple(place, place).map(([n, m]) => onNth(members, n, (s, { id }) => edit.setKey(s, id, at(members(s), m)!.id))),
  fc
    .tuple(place, place, fc.constantFrom(...processors.keys()))
    .map(([n, m, processor]) => onNth(owners, n, (s, owner) => chainEdit.addProcessor(s, owner, processor, m))),
  fc.tuple(place, place, place).map(([n, m, to]) =>
    onNth(owners, n, (s, owner) => {
      const item = at(chainEdit.chainOf(s, owner), m);
      return item ? chainEdit.moveProcessor(s, owner, item.id, to) : s;
    }),
  ),
);

test('whatever is edited, the session stays valid, and the session before is untouched', () => {
  let refused = 0;
  let done = 0;
  fc.assert(
    fc.property(sessions, fc.array(edits, { minLength: 1, maxLength: 12 }), (start, list) => {
      let session = frozen(start);
      for (const each of list) {
        try {
          session = frozen(each(session));
          done++;
        } catch (error) {
          if (!(error instanceof ProblemError)) throw error;
          refused++;
        }
        expect(problemsOf(session)).toEqual([]);
      }
    }),
    { numRuns: casesOf(25, 120) },
  );
  expect(done).toBeGreaterThan(0);
  expect(refused).toBeGreaterThan(0);
});
