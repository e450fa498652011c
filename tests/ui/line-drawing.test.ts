import { expect, test } from 'vitest';
import { processor as compressor } from '../../src/dsp/processors/compressor.ts';
import type { LineTarget } from '../../src/session/lines/line-schema.ts';
import { linePath, placeAt, yOf } from '../../src/ui/song-strip/line-drawing.ts';
import { lineScale } from '../../src/ui/song-strip/line-scale.ts';
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
  const target: LineTarget = { of: 'band', what: 'level' };
  const levels = lineScale(target, compressor.parameters.makeUp);
  expect(linePath(session.lines[0]!, levels, session, 100, 72, { startSeconds: 0, endSeconds: 10 })).toBe(
    'M0 72H20H40V0H100',
  );
  const back = (y: number) => levels.value(placeAt(y, 72));
  for (const db of [-48, -6, 0, 11]) expect(back(yOf(levels.place(db), 72))).toBe(db);
  expect([back(72), back(90), back(-5)]).toEqual([-90, -90, 12]);
});

test('parameters stand as along their control, choices and switches in steps', () => {
  const scaleOf = (parameter: 'attack' | 'detector') =>
    lineScale({ of: 'band', what: 'parameter', item: 'x', parameter }, compressor.parameters[parameter]);
  const { min, max } = compressor.parameters.attack;
  expect(scaleOf('attack').place(Math.sqrt(min * max))).toBeCloseTo(0.5, 12);
  const detector = scaleOf('detector');
  const { choices } = compressor.parameters.detector;
  for (const choice of choices) expect(detector.value(detector.place(choice))).toBe(choice);
  expect(detector.step(choices[0], 1, false)).toBe(choices[1]);
  expect(detector.step(choices[0], -1, false)).toBe(choices[0]);
  // Bypassed is down.
  const bypass = lineScale({ of: 'band', what: 'bypass', item: 'x' }, compressor.parameters.autoMakeUp);
  expect([bypass.value(0.1), bypass.value(0.9)]).toEqual([true, false]);
});
