import fc from 'fast-check';
import { expect, test } from 'vitest';
import { pullDown, setBlends } from '../../../src/session/edits/blend-edits.ts';
import { guardsInForce, guardSets } from '../../../src/session/guard-set.ts';
import { resetGuard, setGuard, setGuards } from '../../../src/session/edits/guard-edits.ts';
import { CLOSED_DB } from '../../../src/session/schema.ts';
import { sessions } from '../../helpers/session-arbitrary.ts';

test('pulling down moves only the named buses, by as much, and never below the shut end', () => {
  fc.assert(
    fc.property(sessions, fc.double({ min: 0, max: 60, noNaN: true }), (session, down) => {
      const named = session.buses.slice(0, 2).map(({ id }) => id);
      const lower = pullDown(session, named, down);
      lower.buses.forEach(({ id, blendDb }, n) => {
        const before = session.buses[n]!.blendDb;
        expect(blendDb).toBe(named.includes(id) ? Math.max(CLOSED_DB, before - down) : before);
      });
      expect(
        pullDown(session, named, Infinity)
          .buses.slice(0, 2)
          .every(({ blendDb }) => blendDb === CLOSED_DB),
      ).toBe(true);
    }),
  );
});

test('several blends are set at once', () => {
  fc.assert(
    fc.property(sessions, (session) => {
      const blends = new Map(session.buses.map(({ id }, n) => [id, -n - 1]));
      expect(setBlends(session, blends).buses.map(({ blendDb }) => blendDb)).toEqual([...blends.values()]);
    }),
  );
});

test('a guard of the session stands in place of the set’s until it is taken back', () => {
  fc.assert(
    fc.property(sessions, (session) => {
      const limit = { guard: 'tonal shift', limit: 4.5, on: false } as const;
      const own = setGuard(setGuards(session, null), limit);
      const found = guardsInForce(own.guards, guardSets[0]!).find(({ guard }) => guard === 'tonal shift')!;
      expect([found.limit, found.on]).toEqual([4.5, false]);
      expect(resetGuard(own, 'tonal shift').guards).toEqual([]);
    }),
  );
});

test('taking a set gives every guard its limit; the default set leaves none of its own', () => {
  const set = guardSets.find(({ name }) => name === 'gentle')!;
  fc.assert(
    fc.property(sessions, (session) => {
      const taken = guardsInForce(setGuards(session, set).guards, guardSets[0]!);
      expect(taken.map(({ limit }) => limit)).toEqual(guardsInForce([], set).map(({ limit }) => limit));
      expect(setGuards(session, null).guards).toEqual([]);
    }),
  );
});
