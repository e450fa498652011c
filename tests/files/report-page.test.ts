import { expect, test } from 'vitest';
import { comparisonCharts, shareChart, type Compared } from '../../src/files/page/charts.ts';
import { htmlPage } from '../../src/files/page/html-page.ts';
import { plain, table } from '../../src/files/markdown.ts';
import { measure } from '../../src/measure/measure.ts';
import { sine, stereo } from '../helpers/signals.ts';

const compared = (name: string, db: number, seconds: number): Compared => ({
  name,
  figures: measure(stereo(sine({ hz: 1000, seconds: 1, db }))),
  shortTermLufs: Float64Array.from({ length: 100 * seconds }, (_, n) => (n < 300 ? NaN : -20)),
});

test('a page shows text as it was given, and asks nothing of anywhere else', () => {
  const name = 'Noise & <b>"Bells"</b> *loud* | 2';
  const page = htmlPage(name, [{ markdown: `# ${plain(name)}\n\n${table([['Name'], [plain(name)]])}` }]);
  const inText = 'Noise &amp; &lt;b&gt;&quot;Bells&quot;&lt;/b&gt; *loud* | 2';
  expect(page).toContain(`<h1>${inText}</h1>`);
  expect(page).toContain(`<td>${inText}</td>`);
  expect(page).not.toMatch(/<script|https?:|<link|<img|url\(/);
});

test('charts stand at the levels of their figures', () => {
  const charts = comparisonCharts(compared('the rough <1>', -20, 10), compared('mix', -20, 10));
  expect(charts).toContain('the rough &lt;1&gt;');
  // Two sounds of equal tone: every bar of the spectrum is at 0 dB, in the middle of its 150 px.
  const bars = [...charts.matchAll(/<rect class="after"[^>]* y="([\d.]+)"[^>]* height="([\d.]+)"/g)];
  expect(bars.length).toBeGreaterThan(0);
  expect(bars.every(([, y, height]) => Number(height) < 1 && Math.abs(Number(y) - 75) < 0.1)).toBe(true);
  // Loudness over 10 s begins where the window of 3 s is full: 3.2 of 640 px for each 0.05 s.
  const [course] = [...charts.matchAll(/class="line after" d="M([\d.]+)/g)].slice(-1);
  expect(Number(course![1])).toBeGreaterThan(190);
  expect(Number(course![1])).toBeLessThan(200);
});

test('a share below zero stands left of the zero line', () => {
  const chart = shareChart([
    { name: 'A', share: 1.1 },
    { name: 'B', share: -0.1 },
  ]);
  const [a, b] = [...chart.matchAll(/<rect class="after" x="([\d.]+)"[^>]* width="([\d.]+)"/g)].map(([, x, width]) => ({
    left: Number(x),
    right: Number(x) + Number(width),
  }));
  expect(b!.right).toBeCloseTo(a!.left, 1);
  expect(b!.left).toBeLessThan(a!.left);
  expect(shareChart([])).toBe('');
});
