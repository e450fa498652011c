import { expect, it } from 'vitest';
import { setProcessorOn } from '../../src/session/chain/chain-edits.ts';
import type { LedgerRow } from '../../src/blend/ledger/ledger.ts';
import type { StretchLedger } from '../../src/engine/questions.ts';
import { chainedSong, opened, openedForAll } from './opened-engine.ts';
import { until } from './short-song.ts';

const WHOLE = { kind: 'ledger', section: null } as const;

/** Is asked, and stays as it is. */
const asked = openedForAll(chainedSong());

it('the ledger of the whole song is what the live rows say, with first-in and flow beside', async () => {
  const bench = asked();
  const before = bench.view;
  const parts: number[] = [];
  const { mix, paths, flow } = await bench.ask(WHOLE, { onProgress: (part) => void parts.push(part) });
  expect(parts).toEqual(parts.toSorted((a, b) => a - b));
  expect(mix.integratedLufs).toBeCloseTo(before.findings.beforeMixBus!.integratedLufs!, 6);
  for (const row of paths) {
    const live = before.findings.paths.get(row.id)!;
    expect(row.shareOfLoudness).toBeCloseTo(live.shareOfLoudness!, 6);
    expect(row.change.integratedLufs).toBeCloseTo(live.change.integratedLufs!, 6);
    expect(row.firstIn).not.toBeNull();
  }
  // Buses are added to what was received: that makes it louder.
  expect(paths.find(({ id }) => id === 'squeeze')!.firstIn!.integratedLufs).toBeGreaterThan(0.1);
  const into = flow.links.filter(({ to }) => to === null);
  expect(into.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 9);
  expect(flow.links.some(({ from, to }) => from === 'squeeze' && to === 'grit')).toBe(true);
  expect(bench.view.findings).toBe(before.findings);
});

it('rows are told one by one, each as the answer has it; withdrawn after the first, no other comes', async () => {
  const bench = asked();
  const told: LedgerRow[] = [];
  const { paths } = await bench.ask(WHOLE, { onRow: (row) => void told.push(row) });
  expect(told).toEqual(paths);
  const work = new AbortController();
  let count = 0;
  const onRow = (): void => {
    count++;
    work.abort();
  };
  await expect(bench.ask(WHOLE, { signal: work.signal, onRow })).rejects.toMatchObject({ name: 'AbortError' });
  expect(await bench.ask(WHOLE)).toMatchObject({ paths });
  expect(count).toBe(1);
});

it('how much of the measuring is done is told until all is measured', async () => {
  const song = chainedSong();
  const bench = await opened(song);
  await until(() => bench.view.isMeasured, 'measuring');
  const parts: number[] = [];
  bench.listen(() => {
    const { isMeasured, measuredPart, state } = bench.view;
    if (!isMeasured && state.phase === 'ready' && measuredPart !== parts.at(-1)) parts.push(measuredPart);
  });
  bench.apply(setProcessorOn(song, 'squeeze', song.buses[0]!.chain[0]!.id, false));
  await until(() => bench.view.isMeasured, 'measuring anew');
  const known = parts.slice(parts.lastIndexOf(0));
  expect(known).toEqual(known.toSorted((a, b) => a - b));
  expect(known.length).toBeGreaterThan(5);
  expect(known.at(-1)).toBeGreaterThan(0.8);
});

it('over a section its figures are those of that stretch', async () => {
  const bench = asked();
  const whole = await bench.ask(WHOLE);
  const part = await bench.ask({ ...WHOLE, section: { startSeconds: 3, endSeconds: 5.4 } });
  // The drums are softer from its third second on, the bass is as before.
  const bassIn = ({ paths }: StretchLedger): number => paths.find(({ id }) => id === 'bass')!.shareOfLoudness!;
  expect(bassIn(part) - bassIn(whole)).toBeGreaterThan(0.01);
  expect(part.paths.reduce((sum, { shareOfLoudness }) => sum + shareOfLoudness!, 0)).toBeCloseTo(1, 9);
});

it('each processor changes the mix by what is missing once it is switched off', async () => {
  const song = chainedSong();
  const bench = await opened(song);
  const before = bench.view.findings.beforeMixBus!;
  const rows = await bench.ask({ kind: 'processors', path: 'squeeze', section: null });
  const [row] = rows;
  expect(rows).toHaveLength(song.buses[0]!.chain.length);
  bench.apply(setProcessorOn(song, 'squeeze', row!.item, false));
  await until(() => bench.view.state.phase === 'ready' && bench.view.findings.beforeMixBus !== before, 'a new render');
  const without = bench.view.findings.beforeMixBus!;
  expect(row!.change.integratedLufs).toBeCloseTo(before.integratedLufs! - without.integratedLufs!, 5);
  expect(row!.change.crestDb).toBeCloseTo(before.crestDb! - without.crestDb!, 5);
  expect(Math.abs(row!.change.integratedLufs!)).toBeGreaterThan(0.01);
});

it('a ledger that is withdrawn ends without a word, and one that is asked for while the mix is rendered with one sentence', async () => {
  const song = chainedSong();
  const bench = await opened(song);
  const work = new AbortController();
  const withdrawn = bench.ask(WHOLE, { signal: work.signal, onProgress: () => work.abort() });
  await expect(withdrawn).rejects.toMatchObject({ name: 'AbortError' });
  bench.apply(setProcessorOn(song, 'squeeze', song.buses[0]!.chain[0]!.id, false));
  await expect(bench.ask(WHOLE)).rejects.toThrow('The mix is still being rendered: ask again in a moment.');
  await until(() => bench.view.state.phase === 'ready', 'a new render');
});
