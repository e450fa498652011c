import { expect, it } from 'vitest';
import { setBlend } from '../../src/session/edits/edits.ts';
import { chainedSong, opened, openedForAll } from './opened-engine.ts';
import { until } from './short-song.ts';

const SWEEP = { kind: 'sweep', axis: { bus: 'squeeze', from: -18, to: 0, step: 9 }, section: null } as const;

/** Is asked, and stays as it is. */
const asked = openedForAll(chainedSong());

it('a bus that feeds another is rendered at every blend: each row is what the mix measures once it is set so', async () => {
  const bench = await opened(chainedSong());
  const parts: number[] = [];
  const { rows, marks } = await bench.ask(SWEEP, { onProgress: (part) => void parts.push(part) });
  expect(marks).toBeNull();
  expect(parts).toEqual(parts.toSorted((a, b) => a - b));
  const [, middle] = rows;
  const before = bench.view.findings.beforeMixBus;
  expect(Math.abs(middle!.integratedLufs! - before!.integratedLufs!)).toBeGreaterThan(0.5);
  bench.apply(setBlend(chainedSong(), 'squeeze', middle!.blendDb));
  await until(() => bench.view.state.phase === 'ready' && bench.view.findings.beforeMixBus !== before, 'a new render');
  const set = bench.view.findings.beforeMixBus!;
  expect(middle!.integratedLufs).toBeCloseTo(set.integratedLufs!, 6);
  expect(middle!.crestDb).toBeCloseTo(set.crestDb!, 6);
  expect(middle!.stereo.sideToMidDb).toBeCloseTo(set.stereo.sideToMidDb!, 6);
});

it('rows come one by one, in all the places, before the answer does; a sweep that renders nothing too', async () => {
  const bench = asked();
  for (const axis of [SWEEP.axis, { ...SWEEP.axis, bus: 'grit' }]) {
    const blends: number[] = [];
    const partsAt: number[] = [];
    let part = 0;
    const { rows } = await bench.ask(
      { ...SWEEP, axis },
      {
        onProgress: (done) => (part = done),
        onRow: ({ blendDb }) => {
          blends.push(blendDb);
          partsAt.push(part);
        },
      },
    );
    expect(blends).toEqual(rows.map(({ blendDb }) => blendDb));
    expect(partsAt[0]).toBeLessThan(partsAt.at(-1)!);
    expect(partsAt.every((done) => done < 1)).toBe(true);
  }
});

it('a section is swept on its own, a grid of it too, and the mix in hand stays as it is', async () => {
  const bench = asked();
  const before = bench.view;
  const section = { startSeconds: 3, endSeconds: 5.4 };
  const whole = await bench.ask(SWEEP);
  const part = await bench.ask({ ...SWEEP, section });
  // The song is softer from its third second on.
  expect(whole.rows[0]!.integratedLufs! - part.rows[0]!.integratedLufs!).toBeGreaterThan(0.5);
  const second = { bus: 'grit', from: -20, to: -10, step: 10 };
  const grid = await bench.ask({ ...SWEEP, second, section });
  expect(grid.rows.map(({ blendDb, secondBlendDb }) => [blendDb, secondBlendDb])).toEqual([
    [-18, -20],
    [-18, -10],
    [-9, -20],
    [-9, -10],
    [0, -20],
    [0, -10],
  ]);
  // The second bus stands at -10.
  expect(grid.rows[1]!.integratedLufs).toBeCloseTo(part.rows[0]!.integratedLufs!, 9);
  expect(bench.view.findings).toBe(before.findings);
});

it('a sweep that is withdrawn, or whose mix is rendered anew, ends with one sentence or none', async () => {
  const bench = await opened(chainedSong());
  const work = new AbortController();
  const withdrawn = bench.ask(SWEEP, { signal: work.signal, onProgress: () => work.abort() });
  await expect(withdrawn).rejects.toMatchObject({ name: 'AbortError' });
  // Of so many renders that it cannot have ended before the edit is there, however busy the machine is.
  const outdated = bench.ask({ ...SWEEP, axis: { ...SWEEP.axis, step: 0.5 } });
  bench.apply(setBlend(chainedSong(), 'squeeze', -3));
  await expect(outdated).rejects.toThrow(/ask again/);
});
