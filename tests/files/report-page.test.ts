import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { comparisonCharts, shareChart, type Compared } from '../../src/files/page/charts.ts';
import { flowChart } from '../../src/files/page/flow-chart.ts';
import { HUE_STYLE } from '../../src/files/page/hue-style.ts';
import { htmlPage } from '../../src/files/page/html-page.ts';
import { plain, table } from '../../src/files/report/markdown.ts';
import { changeSentences, workTable } from '../../src/files/report/report-work.ts';
import { measure } from '../../src/measure/measure.ts';
import { smallSession } from '../helpers/session-file.ts';
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

test('what changed is told in words, and what is too small to be heard is not', () => {
  const tone = (db: number) => measure(stereo(sine({ hz: 1000, seconds: 1, db })));
  // Tones of one shape, 3 dB apart: 3 LU (ITU-R BS.1770 is linear in level), and nothing else.
  expect(changeSentences(tone(-23), tone(-20), 'rough as received')).toEqual([
    'The mix is 3.0 LU louder than the rough as received: to judge the sound alone, turn it down by that much.',
  ]);
  expect(changeSentences(tone(-20), tone(-23), 'rough')[0]).toMatch(
    /^The mix is 3\.0 LU softer than the rough: .* turn the rough down/,
  );
  expect(changeSentences(tone(-20), tone(-20.05), 'rough')).toEqual([
    'Loudness, dynamics and width are those of the rough.',
  ]);
});

test('every path is listed with its level, what feeds it and its processors', () => {
  const words = workTable(smallSession());
  expect(words).toContain('| Squeeze | bus | -8.0 dB | Drums at ');
  expect(words).toMatch(/\| Drums \| group \| [-\d.]+ dB \| 1 track \|/);
});

test('the flow picture has a stream for every share, in the colours of the app', () => {
  const session = smallSession();
  const [drums] = session.groups;
  const [track] = session.tracks;
  const flow = {
    nodes: [
      { id: track!.id, kind: 'source' as const, share: 1 },
      { id: drums!.id, kind: 'group' as const, share: 1 },
    ],
    links: [
      { from: track!.id, to: drums!.id, share: 1 },
      { from: drums!.id, to: null, share: 1 },
    ],
  };
  const picture = flowChart(flow, session);
  expect(picture.match(/class="stream"/g)).toHaveLength(2);
  expect(picture).toContain('<title>Drums to Mix: 100 %</title>');
  expect(flowChart({ nodes: [], links: [] }, session)).toBe('');
  const tokens = readFileSync(new URL('../../src/ui/theme/tokens.css', import.meta.url), 'utf8');
  const hues = [...tokens.matchAll(/--hue-\d+: light-dark\([^)]*\);/g)].map(([rule]) => rule);
  expect(hues.length).toBeGreaterThan(10);
  expect(HUE_STYLE).toBe(`:root { ${hues.join(' ')} }`);
});
