import { serialize } from 'node:v8';
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { changed, changeOf } from '../../src/engine/worker/changes.ts';
import { setBlend, setSend } from '../../src/session/edits/edits.ts';
import { sessions } from '../helpers/session-arbitrary.ts';
import { sessionFrom } from '../helpers/sessions.ts';
import { casesOf } from '../helpers/soak.ts';

/** As a worker gets it: node:v8 writes what the structured clone of a browser writes. */
const crossed = <T>(value: T): T => structuredClone(value);

/** Documents with named lists in named lists, lists without names, and fields that come and go. */
const { document } = fc.letrec<{ document: unknown; field: unknown; item: unknown }>((tie) => ({
  field: fc.oneof(
    { maxDepth: 3 },
    fc.constantFrom(null, 0, 1, -0, 'a', 'b', true),
    fc.array(fc.nat(2), { maxLength: 3 }),
    fc.uniqueArray(tie('item'), { maxLength: 4, selector: (item) => (item as { id: string }).id }),
    tie('document'),
  ),
  item: fc
    .tuple(fc.constantFrom('one', 'two', 'three', '4', '__proto__'), tie('document'))
    .map(([id, rest]) => ({ ...(rest as object), id })),
  document: fc.dictionary(fc.constantFrom('a', 'b', 'c', 'list'), tie('field'), { noNullPrototype: true }),
}));

/** The change from one to the other, sent to another thread, makes the other. */
const expectChange = (before: unknown, after: unknown): void => {
  const change = changeOf(before, after);
  expect(change ? changed(before, crossed(change)) : before).toStrictEqual(after);
};

describe('what changed of a document', () => {
  it('makes the new one of the old one, whatever the two are', () => {
    fc.assert(fc.property(document, document, expectChange), { numRuns: casesOf(100, 3000) });
  });

  // As a parser makes them: every object has the usual prototype.
  const parsed = sessions.map((session) => structuredClone(session));

  it('makes one session of another', () => {
    fc.assert(fc.property(parsed, parsed, expectChange), { numRuns: casesOf(30, 300) });
  });
});

describe('an edit of a session with 64 tracks', () => {
  const numbers = Array.from({ length: 64 }, (_, n) => `${n}`);
  const song = sessionFrom({
    tracks: numbers.map((n) => ({
      id: `track-${n}`,
      name: `Track ${n}`,
      file: `${n}.wav`,
      group: `group-${Number(n) % 16}`,
    })),
    groups: numbers.slice(0, 16).map((n) => ({ id: `group-${n}`, name: `Group ${n}`, sends: [{ to: 'squeeze' }] })),
    buses: [{ id: 'squeeze', name: 'Squeeze', blendDb: -6, chain: [{ id: 'c', processor: 'compressor' }] }],
  });

  it('sends less than 1 kB where a blend or a send is moved', () => {
    for (const edited of [setBlend(song, 'squeeze', -7.25), setSend(song, 'group-15', 'squeeze', { levelDb: -3 })]) {
      expect(edited).not.toBe(song);
      expect(serialize(changeOf(song, edited)).byteLength).toBeLessThan(1000);
    }
    expect(serialize(song).byteLength).toBeGreaterThan(10_000);
  });

  it('leaves alone what it does not touch: the same objects, so that what is known of them stays known', () => {
    const before = structuredClone(song);
    const after = changed(before, crossed(changeOf(song, setBlend(song, 'squeeze', -1))!)) as typeof song;
    expect(after.buses[0]!.blendDb).toBe(-1);
    expect(after.tracks).toBe(before.tracks);
    expect(after.groups).toBe(before.groups);
    expect(after.buses[0]!.chain).toBe(before.buses[0]!.chain);
  });
});
