import { describe, expect, test } from 'vitest';
import { valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processors } from '../../src/dsp/core/registry.ts';
import {
  curvePath,
  fitted,
  restLine,
  scalesFor,
  stems,
  ticksAcross,
  ticksUp,
} from '../../src/files/page/picture-geometry.ts';

const frame = { width: 300, height: 200, left: 40, right: 10, top: 20, bottom: 30 };
const RATE = 48_000;

describe.each([...processors.values()].map((processor) => ({ id: processor.id, processor })))(
  'the picture of $id',
  ({ processor }) => {
    const { picture, parameters, start } = processor;

    test.each([
      ['neutral', {}],
      ['as it starts', start],
    ])('%s, it stays within its frame', (_, settings) => {
      const points = picture.points(valuesFrom(parameters, settings), RATE, 240);
      expect(points.length).toBeGreaterThan(0);
      const { x, y } = scalesFor(fitted(picture, points), frame);
      for (const [across, up] of points) {
        expect(x(across)).toBeGreaterThanOrEqual(frame.left);
        expect(x(across)).toBeLessThanOrEqual(frame.width - frame.right);
        expect(y(up)).toBeGreaterThanOrEqual(frame.top);
        expect(y(up)).toBeLessThanOrEqual(frame.height - frame.bottom);
      }
      const drawn =
        picture.drawn === 'stems' ? stems(picture, points, frame).length > 0 : curvePath(picture, points, frame) !== '';
      expect(drawn).toBe(true);
      expect(curvePath(picture, points, frame)).not.toContain('NaN');
    });

    test('both axes carry numbers', () => {
      expect(ticksAcross(picture, frame).length).toBeGreaterThan(2);
      expect(ticksUp(picture, frame).length).toBeGreaterThan(2);
    });
  },
);

const eq = processors.get('eq')!;
const highest = (settings: Parameters<typeof valuesFrom>[1]): number => {
  const points = eq.picture.points(valuesFrom(eq.parameters, settings), RATE, 240);
  return fitted(eq.picture, points).y[1];
};

test('a small move of a band is drawn large, a large one still fits, and a cut does not squeeze the rest', () => {
  expect(highest({ 'band3.on': true, 'band3.gain': 2 })).toBe(6);
  expect(highest({ 'band3.on': true, 'band3.gain': -9 })).toBe(12);
  expect(highest({ 'band3.on': true, 'band3.gain': 18 })).toBe(24);
  expect(highest({ 'band1.on': true, 'band1.shape': 'low cut', 'band1.slope': '48 dB/oct' })).toBe(12);
});

test('only pictures around 0 dB are fitted to their curve', () => {
  for (const { picture, parameters, start } of processors.values()) {
    const points = picture.points(valuesFrom(parameters, start), RATE, 240);
    if (picture.kind !== 'frequency' || picture.y[0] !== -picture.y[1]) expect(fitted(picture, points)).toBe(picture);
  }
});

test('labels of an axis never run into each other', () => {
  for (const width of [160, 240, 600]) {
    const places = ticksAcross(eq.picture, { ...frame, width }).map(({ at }) => at);
    places.slice(1).forEach((at, i) => expect(at - places[i]!).toBeGreaterThanOrEqual(34));
    expect(places.length).toBeGreaterThan(1);
  }
});

test('the rest line of a level picture is where out equals in', () => {
  const { picture } = processors.get('compressor')!;
  const { x, y } = scalesFor(picture, frame);
  const [low, high] = picture.x;
  expect(restLine(picture, frame)).toBe(
    `M${x(Math.max(low, picture.y[0]))} ${y(Math.max(low, picture.y[0]))}L${x(Math.min(high, picture.y[1]))} ${y(Math.min(high, picture.y[1]))}`,
  );
});
