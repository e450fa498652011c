import { expect, test } from 'vitest';
import { keptList } from '../../src/ui/shared/kept-list.ts';

test('a list of the same parts is the same list, and one of other parts, order or length is another', () => {
  const [a, b, c] = [{ n: 1 }, { n: 2 }, { n: 1 }];
  const kept = keptList<object>();
  const first = kept([a, b]);
  expect(kept([a, b])).toBe(first);
  for (const other of [[b, a], [a], [a, b, c], [c, b], []]) {
    kept([a, b]);
    expect(kept(other)).toEqual(other);
    expect(kept(other)).not.toBe(first);
  }
});

test('what makes parts the same can be told', () => {
  const kept = keptList<{ n: number }>((a, b) => a.n === b.n);
  const first = kept([{ n: 1 }]);
  expect(kept([{ n: 1 }])).toBe(first);
  expect(kept([{ n: 2 }])).toEqual([{ n: 2 }]);
});
