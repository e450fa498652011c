import { expect, test } from 'vitest';
import { moveSection } from '../../../src/session/lines/move-section.ts';
import { sessionFrom } from '../../helpers/sessions.ts';

// 120 BPM: a bar is 2 s.
const session = sessionFrom({
  tempo: 120,
  sections: [
    { name: 'Verse', startSeconds: 0, endSeconds: 10 },
    { name: 'Chorus', startSeconds: 10, endSeconds: 20 },
    { name: 'Out', startSeconds: 30, endSeconds: 40 },
  ],
  groups: [{ id: 'band', name: 'band' }],
  lines: [
    {
      ...{ id: 'on', target: { of: 'band', what: 'on' }, unit: 'bars' },
      points: [
        { at: 1, value: false },
        { at: 6, value: true },
        { at: 11, value: false },
        { at: 18, value: true },
      ],
    },
  ],
});
const places = (edited: typeof session) => edited.lines[0]!.points.map(({ at }) => Number(at.toFixed(6)));

test('a bound that two sections share moves both, and the points on it and between with them', () => {
  const later = moveSection(session, 1, { startSeconds: 14, endSeconds: 20 });
  expect(later.sections.map(({ startSeconds, endSeconds }) => [startSeconds, endSeconds])).toEqual([
    [0, 14],
    [14, 20],
    [30, 40],
  ]);
  expect(places(later)).toEqual([1, 8, 11, 18]);
});

test('a section that is moved as a whole takes its points along, and takes the place of others there', () => {
  // The point at bar 18, 34 s, lies in the last section, which is moved 6 s forward, onto nothing.
  expect(places(moveSection(session, 2, { startSeconds: 24, endSeconds: 34 }))).toEqual([1, 6, 11, 15]);
  // The end of the chorus moves to 36 s: what lay behind its old end gives way.
  const longer = moveSection({ ...session, sections: session.sections.slice(0, 2) }, 1, {
    ...{ startSeconds: 10, endSeconds: 36 },
  });
  expect(places(longer)).toEqual([1, 6, 19]);
});

test('a section that would swallow its neighbour is refused', () => {
  expect(() => moveSection(session, 1, { startSeconds: -1, endSeconds: 20 })).toThrow(/sections\[/);
});
