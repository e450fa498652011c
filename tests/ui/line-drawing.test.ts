import { expect, test } from 'vitest';
import { dbAt, levelPath, yOf } from '../../src/ui/song-strip/line-drawing.ts';
import { sessionFrom } from '../helpers/sessions.ts';

test('a line is drawn across where it holds, and comes back from its drawing', () => {
  const session = sessionFrom({
    lines: [
      {
        ...{ id: 'fader', target: { of: 'band', what: 'level' } },
        points: [
          { at: 2, value: -60 },
          { at: 4, value: 12 },
        ],
      },
    ],
  });
  // 10 s are 100 px; -60 to 12 dB are 72 px.
  expect(levelPath(session.lines[0]!, session, 100, 72, 10)).toBe('M0 72H20H40V0H100');
  for (const db of [-48, -6, 0, 11]) expect(dbAt(yOf(db, 72), 72)).toBeCloseTo(db, 12);
  expect([dbAt(72, 72), dbAt(90, 72), dbAt(-5, 72)]).toEqual([-90, -90, 12]);
});
