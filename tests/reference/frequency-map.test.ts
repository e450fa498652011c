import { describe, expect, test } from 'vitest';
import { insideOf, placeOf, POLES, squareAt, ZEROS } from '../../src/dsp/filters/frequency-map.ts';

// w^2 = 4 asin^2(sqrt u) at u = sin^2(w / 2) is an identity; the map is held to it.

const upTo = (share: number): readonly number[] =>
  Array.from({ length: 2000 }, (_, n) => (Math.PI * share * (n + 1)) / 2000);

test('the map is the square of frequency within 0.1 % up to 18.2 kHz at 44.1 kHz', () => {
  for (const w of upTo(18200 / 22050))
    expect(Math.abs(squareAt(Math.sin(w / 2) ** 2) / w ** 2 - 1)).toBeLessThan(0.00099);
});

test('it rises all the way to half the rate, so that no filter folds over', () => {
  const values = upTo(1).map((w) => squareAt(Math.sin(w / 2) ** 2));
  values.slice(1).forEach((value, n) => expect(value).toBeGreaterThan(values[n]!));
  for (const end of [...POLES, ZEROS[1]]) expect(end).toBeGreaterThan(1);
});

describe('each value of it is taken', () => {
  // Complex R(u) by hand, to put each u back.
  const ratio = (u: { re: number; im: number }): { re: number; im: number } => {
    const times = (a: typeof u, b: typeof u) => ({ re: a.re * b.re - a.im * b.im, im: a.re * b.im + a.im * b.re });
    const shifted = (by: number) => ({ re: u.re - by, im: u.im });
    const top = times(u, shifted(ZEROS[1]));
    const under = times(shifted(POLES[0]), shifted(POLES[1]));
    const size = under.re ** 2 + under.im ** 2;
    const turned = times(top, { re: under.re / size, im: -under.im / size });
    const level = squareAt(0.3) / ((0.3 * (0.3 - ZEROS[1])) / ((0.3 - POLES[0]) * (0.3 - POLES[1])));
    return { re: level * turned.re, im: level * turned.im };
  };

  test('at two u, each with a z inside the unit circle', () => {
    for (const size of [1e-6, 0.01, 1, 5, 9, 40])
      for (const angle of [0.01, 0.5, 1.2, 2, 3.1, Math.PI])
        for (const branch of [0, 1] as const) {
          const x = { re: size * Math.cos(angle), im: Math.abs(size * Math.sin(angle)) };
          const u = { re: 0, im: 0 };
          placeOf(u, x.re, x.im, branch);
          const back = ratio(u);
          // Near its far zero a small x is a small difference of large numbers.
          const scale = branch === 0 ? size : Math.max(size, 1);
          expect(Math.hypot(back.re - x.re, back.im - x.im) / scale).toBeLessThan(1e-9);
          const z = { re: 0, im: 0 };
          insideOf(z, u.re, u.im);
          expect(Math.hypot(z.re, z.im)).toBeLessThan(1);
          // (2 - z - 1 / z) / 4 is u again.
          const part = z.re ** 2 + z.im ** 2;
          expect(Math.hypot((2 - z.re - z.re / part) / 4 - u.re, (-z.im + z.im / part) / 4 - u.im)).toBeLessThan(
            1e-9 * Math.max(1, Math.hypot(u.re, u.im)),
          );
        }
  });
});
