import { afterEach, expect, it } from 'vitest';
import type { LiveReport } from '../../src/audition/live-messages.ts';
import { setSetting } from '../../src/session/chain/chain-edits.ts';
import type { SectionFindings } from '../../src/engine/engine.ts';
import { EngineHost } from '../../src/engine/worker/engine-host.ts';
import type { EngineMessage } from '../../src/engine/worker/protocol.ts';
import { longerFiles, shortSong, until } from './short-song.ts';

let host: EngineHost | null = null;
afterEach(() => {
  host?.dispose();
  host = null;
});

const LOOP = { from: 12 * 48_000, to: 15 * 48_000 };

it('where nothing runs live, what is listened to is rendered before the rest of the song, and heard', async () => {
  const told: EngineMessage[] = [];
  const heard = (): readonly Extract<EngineMessage, { kind: 'hearable' }>[] =>
    told.filter((each) => each.kind === 'hearable');
  const bench = new EngineHost((message) => told.push(message));
  host = bench;
  const song = shortSong();
  await bench.open(1, song, await longerFiles());
  await until(() => told.some(({ kind }) => kind === 'settled'), 'measuring');
  const samples = (id: number): Float32Array => {
    const { channels } = bench.soundOf(id)!;
    return channels[0]!.subarray(0, 20 * 48_000).slice();
  };
  const before = samples(heard().at(-1)!.hearable.paths.get('squeeze')!.id);

  const { port1, port2 } = new MessageChannel();
  bench.feed(port1);
  const report: LiveReport = { whereabouts: { place: 13 * 48_000, loop: LOOP, moved: true } };
  port2.postMessage(report);
  await new Promise((resolve) => setTimeout(resolve, 50));
  told.length = 0;
  bench.apply(2, setSetting(song, 'squeeze', 'c', 'threshold', -12), true);
  await until(() => heard().length > 0, 'the section');
  const [first] = heard();
  expect(first!.isOvertaken).toBe(true);
  const section = samples(first!.hearable.paths.get('squeeze')!.id);
  // Paths that do not change are the same sounds.
  await until(() => heard().some(({ isOvertaken }) => !isOvertaken), 'the song');
  const last = heard().at(-1)!;
  expect(last.hearable.paths.get('bass')).toEqual(first!.hearable.paths.get('bass'));
  const whole = samples(last.hearable.paths.get('squeeze')!.id);
  expect(section.subarray(0, LOOP.from)).toEqual(before.subarray(0, LOOP.from));
  expect(section.subarray(LOOP.to, 20 * 48_000)).toEqual(before.subarray(LOOP.to, 20 * 48_000));
  const from = LOOP.from + 480;
  const to = LOOP.to - 480;
  const difference = (other: Float32Array): number =>
    section.subarray(from, to).reduce((most, x, n) => Math.max(most, Math.abs(x - other[from + n]!)), 0);
  expect(difference(before)).toBeGreaterThan(0.01);
  // The compressor has forgotten what was more than 4 s ago, but for single precision.
  expect(difference(whole)).toBeLessThan(1e-6);
});

it('a jump out of what was rendered first has the place rendered where it leads, before the rest of the song', async () => {
  const { port1, port2 } = new MessageChannel();
  const THERE = { from: 4 * 48_000, to: 6 * 48_000 };
  const playIn = (loop: { readonly from: number; readonly to: number }): void =>
    port2.postMessage({ whereabouts: { place: loop.from, loop, moved: true } } satisfies LiveReport);
  let isSettled = false;
  /** What was heard of the bus where the jump leads, each time that it was told anew. */
  const heard: { readonly isOvertaken: boolean; readonly there: Float32Array }[] = [];
  const bench = new EngineHost((message) => {
    isSettled ||= message.kind === 'settled';
    if (message.kind !== 'hearable' || message.hearable.paths.size === 0) return;
    const { channels } = bench.soundOf(message.hearable.paths.get('squeeze')!.id)!;
    const there = channels[0]!.subarray(THERE.from + 480, THERE.to - 480).slice();
    heard.push({ isOvertaken: message.isOvertaken, there });
    // The rest of the song is still to be rendered.
    if (message.isOvertaken) playIn(THERE);
  });
  host = bench;
  const song = shortSong();
  await bench.open(1, song, await longerFiles());
  await until(() => isSettled, 'measuring');
  bench.feed(port1);
  playIn(LOOP);
  await new Promise((resolve) => setTimeout(resolve, 50));
  heard.length = 0;
  bench.apply(2, setSetting(song, 'squeeze', 'c', 'threshold', -12), true);
  await until(() => heard.some(({ isOvertaken }) => !isOvertaken), 'the song');
  expect(heard.map(({ isOvertaken }) => isOvertaken)).toEqual([true, true, false]);
  const difference = (n: number): number =>
    heard[n]!.there.reduce((most, x, at) => Math.max(most, Math.abs(x - heard[2]!.there[at]!)), 0);
  expect(difference(0)).toBeGreaterThan(0.01);
  // As above: the compressor has forgotten what came before, but for single precision.
  expect(difference(1)).toBeLessThan(1e-6);
});

it('the section in loop is measured before the rest of the song is rendered, and from that once it is', async () => {
  const LOOP_SECONDS = { startSeconds: 12, endSeconds: 15 };
  const order: string[] = [];
  const found: SectionFindings[] = [];
  let settled = 0;
  const bench = new EngineHost((message) => {
    if (message.kind === 'settled') settled++;
    if (message.kind === 'hearable') order.push('whole');
    if (message.kind === 'view' && (message.change.state?.progress ?? 0) > 0) order.push('rest');
    if (message.kind !== 'findings' || !message.change.section) return;
    found.push(message.change.section);
    order.push(message.change.section.isEarly ? 'early' : 'section');
  });
  host = bench;
  const song = shortSong();
  await bench.open(1, song, await longerFiles());
  await until(() => settled === 1, 'measuring');
  bench.loop(LOOP_SECONDS);
  await until(() => found.length === 1, 'the section');
  const before = found[0]!;
  order.length = 0;
  bench.apply(2, setSetting(song, 'squeeze', 'c', 'threshold', -12), false);
  await until(() => settled === 2, 'measuring anew');
  expect(order[0]).toBe('early');
  expect(order.at(-1)).toBe('section');
  const [, early] = found;
  const whole = found.at(-1)!;
  expect(before.mix.integratedLufs! - whole.mix.integratedLufs!).not.toBeCloseTo(0, 1);
  // The compressors have forgotten what came more than 4 s before, but for single precision.
  for (const key of ['integratedLufs', 'truePeakDbtp', 'crestDb', 'maxMomentaryLufs'] as const)
    expect(early!.mix[key], key).toBeCloseTo(whole.mix[key]!, 4);
  expect(early!.rough).toBe(before.rough);
});
