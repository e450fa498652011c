import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { addBus, addGroup, removeBus, removeGroup, removeTrack } from '../../src/session/edits/edits.ts';
import { huesOf, withHues } from '../../src/session/hues.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { restorePass, savePass } from '../../src/session/passes/passes.ts';
import { HUES, type Session } from '../../src/session/schema.ts';
import { sessionText } from '../../src/session/read/serialize.ts';
import { sessions } from '../helpers/session-arbitrary.ts';
import { smallSession } from '../helpers/session-file.ts';

type Edit = (session: Session) => Session;

const emptied = (session: Session, group: string): Session =>
  session.tracks.reduce((less, track) => (track.group === group ? removeTrack(less, track.id) : less), session);

const edits: fc.Arbitrary<Edit> = fc.oneof(
  fc.constant<Edit>((s) => (s.groups.length < 32 ? addGroup(s, 'One more') : s)),
  fc.constant<Edit>((s) => (s.buses.length < 32 ? addBus(s, { name: 'Another' }) : s)),
  fc.nat(31).map(
    (n): Edit =>
      (s) =>
        s.buses.length === 0 ? s : removeBus(s, s.buses[n % s.buses.length]!.id),
  ),
  fc.nat(31).map((n): Edit => (s) => {
    const group = s.groups[n % Math.max(1, s.groups.length)]?.id;
    return group === undefined ? s : removeGroup(emptied(s, group), group);
  }),
  fc.constant<Edit>((s) => ({ ...s, buses: s.buses.toReversed(), groups: s.groups.toReversed() })),
);

describe('the hue of a path', () => {
  test('is its own for life, whatever comes, goes or changes places; up to the last hue all differ', () => {
    fc.assert(
      fc.property(sessions, fc.array(edits, { minLength: 1, maxLength: 30 }), (start, list) => {
        let session = withHues(start);
        let most = huesOf(session).size;
        for (const edit of list) {
          const before = huesOf(session);
          session = edit(session);
          const after = huesOf(session);
          most = Math.max(most, after.size);
          for (const [id, hue] of after) if (before.has(id)) expect(hue).toBe(before.get(id));
        }
        if (most <= HUES) expect(new Set(huesOf(session).values()).size).toBe(huesOf(session).size);
      }),
      { numRuns: 60 },
    );
  });

  test('differs from all others while there are hues left, and then they come again evenly', () => {
    let session = withHues(smallSession());
    for (let n = session.groups.length + session.buses.length; n < HUES; n++)
      session = addBus(session, { name: 'Bus' });
    expect(new Set(huesOf(session).values()).size).toBe(HUES);
    expect(huesOf(addGroup(session, 'More')).get('more')).toBe(1);
    const freed = removeBus(session, 'echo');
    expect(huesOf(addGroup(freed, 'More')).get('more')).toBe(huesOf(session).get('echo'));
  });

  test('is the same in a file that is opened again, and after a pass from an older file is taken back', () => {
    const old = savePass(smallSession(), 'First');
    const session = removeBus(withHues(addGroup(old, 'Spare')), 'squeeze');
    expect(withHues(parseSession(sessionText(session), 'song.json'))).toEqual(session);
    const restored = restorePass(session, 'first');
    expect(huesOf(restored).get('echo')).toBe(huesOf(session).get('echo'));
    expect(new Set(huesOf(restored).values()).size).toBe(5);
  });
});
