import fc from 'fast-check';
import { expect, test } from 'vitest';
import { downstreamOf, edgesOf, pathOrder } from '../../src/session/graph.ts';
import type { Session } from '../../src/session/schema.ts';
import { sessions } from '../helpers/session-arbitrary.ts';
import { smallSession } from '../helpers/session-file.ts';

const reversed = (session: Session): Session => ({ ...session, buses: [...session.buses].reverse() });

test('a bus comes after what feeds it, wherever the session lists it', () => {
  const buses = (session: Session): string[] =>
    pathOrder(session).filter((id) => session.buses.some((bus) => bus.id === id));
  expect(buses(smallSession())).toEqual(['squeeze', 'echo', 'plate']);
  expect(buses(reversed(smallSession()))).toEqual(['echo', 'plate', 'squeeze']);
});

test('a group that listens to a bus comes after it', () => {
  const session = smallSession();
  const [drums, voices] = session.groups;
  const keyed = { ...session, groups: [{ ...drums!, key: 'plate' }, voices!] };
  const order = pathOrder(keyed);
  expect(order.indexOf('drums')).toBeGreaterThan(order.indexOf('plate'));
});

test('every path comes once, after all that reaches it', () => {
  fc.assert(
    fc.property(sessions, (session) => {
      const order = pathOrder(reversed(session));
      expect([...order].sort()).toEqual([...session.groups, ...session.buses].map(({ id }) => id).sort());
      for (const { from, to, kind } of edgesOf(session)) {
        if (kind !== 'group' && order.includes(from)) expect(order.indexOf(from)).toBeLessThan(order.indexOf(to));
      }
    }),
  );
});

test('what a path reaches follows groups, sends and keys', () => {
  const session = smallSession();
  const keyed = {
    ...session,
    buses: session.buses.map((bus) => (bus.id === 'squeeze' ? { ...bus, key: 'voice' } : bus)),
  };
  expect([...downstreamOf(keyed, 'voice')].sort()).toEqual(['echo', 'plate', 'squeeze', 'voices']);
  expect([...downstreamOf(keyed, 'plate')]).toEqual([]);
});

test('a cycle is named instead of being ordered', () => {
  const session = smallSession();
  const [squeeze, echo, plate] = session.buses;
  const round = {
    ...session,
    buses: [squeeze!, echo!, { ...plate!, sends: echo!.sends.map((s) => ({ ...s, to: 'echo' })) }],
  };
  expect(() => pathOrder(round)).toThrow('echo -> plate -> echo');
});
