import { readFileSync } from 'node:fs';
import { describe, expect, test } from 'vitest';
import { HUES } from '../../src/session/schema.ts';

type Triple = readonly [number, number, number];
type Matrix = readonly [Triple, Triple, Triple];

// Machado, Oliveira & Fernandes 2009, severity 1.0, on linear RGB (figures from memory).
const SEEN: Readonly<Record<string, Matrix>> = {
  'full colour': [
    [1, 0, 0],
    [0, 1, 0],
    [0, 0, 1],
  ],
  protanopia: [
    [0.152286, 1.052583, -0.204868],
    [0.114503, 0.786281, 0.099216],
    [-0.003882, -0.048116, 1.051998],
  ],
  deuteranopia: [
    [0.367322, 0.860646, -0.227968],
    [0.280085, 0.672501, 0.047413],
    [-0.01182, 0.04294, 0.968881],
  ],
  tritanopia: [
    [1.255528, -0.076749, -0.178779],
    [-0.078411, 0.930809, 0.147602],
    [0.004733, 0.691367, 0.3039],
  ],
};

const css = readFileSync(new URL('../../src/ui/theme/tokens.css', import.meta.url), 'utf8');
const token = (name: string, theme: 0 | 1): Triple => {
  const pair = new RegExp(`--${name}: light-dark\\((#\\w{6}), (#\\w{6})\\)`).exec(css);
  if (!pair) throw new Error(`tokens.css has no --${name}`);
  const linear = (at: number): number => {
    const part = parseInt(pair[theme + 1]!.slice(at, at + 2), 16) / 255;
    return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
  };
  return [linear(1), linear(3), linear(5)];
};

const through = (matrix: Matrix, [r, g, b]: Triple): Triple =>
  matrix.map((row) => Math.min(1, Math.max(0, row[0] * r + row[1] * g + row[2] * b))) as unknown as Triple;

/** Oklab (Ottosson 2020): distances in it are close to what is seen; 0.02 is about the least that is. */
const lab = ([r, g, b]: Triple): Triple => {
  const l = Math.cbrt(0.4122214708 * r + 0.5363325363 * g + 0.0514459929 * b);
  const m = Math.cbrt(0.2119034982 * r + 0.6806995451 * g + 0.1073969566 * b);
  const s = Math.cbrt(0.0883024619 * r + 0.2817188376 * g + 0.6299787005 * b);
  return [
    0.2104542553 * l + 0.793617785 * m - 0.0040720468 * s,
    1.9779984951 * l - 2.428592205 * m + 0.4505937099 * s,
    0.0259040371 * l + 0.7827717662 * m - 0.808675766 * s,
  ];
};
const distance = (a: Triple, b: Triple): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

const luminance = ([r, g, b]: Triple): number => 0.2126 * r + 0.7152 * g + 0.0722 * b;
const contrast = (a: Triple, b: Triple): number => {
  const [low, high] = [luminance(a) + 0.05, luminance(b) + 0.05].sort((p, q) => p - q);
  return high! / low!;
};

describe.each([
  ['light', 0],
  ['dark', 1],
] as const)('hues of the paths, %s', (_, theme) => {
  const hues = Array.from({ length: HUES }, (_, i) => token(`hue-${i + 1}`, theme));

  test.each(Object.entries(SEEN))('with %s all differ, and neighbours in the table differ plainly', (_, matrix) => {
    const seen = hues.map((hue) => lab(through(matrix, hue)));
    for (let a = 0; a < HUES; a++) {
      for (let b = a + 1; b < HUES; b++)
        expect(distance(seen[a]!, seen[b]!)).toBeGreaterThan(b === a + 1 ? 0.07 : 0.035);
    }
  });

  test('each stands out from paper and sheet by 3 to 1 (WCAG 2.2, 1.4.11)', () => {
    for (const hue of hues) {
      expect(contrast(hue, token('paper', theme))).toBeGreaterThanOrEqual(3);
      expect(contrast(hue, token('sheet', theme))).toBeGreaterThanOrEqual(3);
    }
  });
});
