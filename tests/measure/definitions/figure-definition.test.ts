import { expect, test } from 'vitest';
import { SHOWN_FIGURES } from '../../../src/measure/definitions/shown-figures.ts';

test('words for a newcomer stand behind every figure that the screen shows', () => {
  const shown = SHOWN_FIGURES.filter(({ places }) => places?.some((place) => place !== 'targets' && place !== 'files'));
  expect(shown.length).toBeGreaterThan(15);
  expect(shown.filter(({ advice }) => !advice).map(({ key }) => key)).toEqual([]);
});
