import { afterEach, describe, expect, it } from 'vitest';
import { renderDirect } from '../../src/render/direct.ts';
import type { Samples } from '../../src/audio/samples.ts';
import { runFrames, type GrowingPaths, type RenderedPaths } from '../../src/render/executor.ts';
import { exposeStripHost, LocalStripPort, RemoteStripPort, type StripPort } from '../../src/render/pool/strip-port.ts';
import { StripPool } from '../../src/render/pool/strip-pool.ts';
import { STRETCH_FRAMES } from '../../src/render/pool/strip-host.ts';
import { Strip } from '../../src/dsp/core/strip.ts';
import { placed } from '../../src/render/plan/sources.ts';
import { memoryRoom } from '../../src/render/store/room.ts';
import { StripCache } from '../../src/render/strip-cache.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { isSoaking } from '../helpers/soak.ts';
import { stereo, whiteNoise } from '../helpers/signals.ts';

/** Three stretches and a piece. */
const SECONDS = (3.3 * STRETCH_FRAMES) / 48_000;

const item = (processor: string, settings: Record<string, number | string | boolean> = {}) => ({
  id: processor,
  processor,
  settings,
});

/** Groups that feed buses that feed a bus, one of them with a key, a track with a chain of its own, and one that comes late. */
const session = sessionFrom({
  tracks: [
    { id: 'kick', name: 'kick', file: 'kick.wav', group: 'drums', chain: [item('transient', { attack: 6 })] },
    { id: 'piano', name: 'piano', file: 'piano.wav', group: 'keys', offsetSeconds: 0.4 },
  ],
  groups: [
    {
      id: 'drums',
      name: 'drums',
      sends: [{ to: 'squeeze' }],
      chain: [item('eq', { 'band1.on': true, 'band1.gain': 4 })],
    },
    { id: 'keys', name: 'keys', sends: [{ to: 'echo', levelDb: -6 }, { to: 'squeeze' }] },
  ],
  buses: [
    {
      id: 'squeeze',
      name: 'squeeze',
      blendDb: -6,
      chain: [item('compressor', { threshold: -40, lookAhead: 5 })],
      sends: [{ to: 'plate' }],
    },
    {
      id: 'echo',
      name: 'echo',
      blendDb: -9,
      chain: [item('delay', { time: 210 })],
      sends: [{ to: 'plate', levelDb: -3 }],
    },
    { id: 'plate', name: 'plate', blendDb: -12, chain: [item('reverb', { decay: 1.2, mix: 100 })] },
  ],
});
const sounds = { kick: stereo(whiteNoise(SECONDS, 1), whiteNoise(SECONDS, 2)), piano: stereo(whiteNoise(1.1, 3)) };
const { plan, sources } = planned(session, sounds);
/** What one host in this thread makes of it, rendered once. */
const alone = renderDirect(plan, sources);

/** The first frame at which two channels differ; -1: none. */
const firstUnlike = (one: Float32Array, other: Float32Array): number =>
  one.length === other.length ? one.findIndex((x, n) => x !== other[n]) : Math.min(one.length, other.length);

const inMemory = (samples: Samples): Float32Array => samples.subarray(0, samples.length);

const expectSame = (paths: RenderedPaths, expected: RenderedPaths): void => {
  expect([...paths.keys()]).toEqual([...expected.keys()]);
  for (const [id, { channels }] of paths)
    channels.forEach((channel, n) =>
      expect(firstUnlike(inMemory(channel), inMemory(expected.get(id)!.channels[n]!)), `${id} ${n}`).toBe(-1),
    );
};

const open: (() => void)[] = [];
afterEach(() => {
  for (const close of open.splice(0)) close();
});

/** A host behind a channel of messages, as one in another thread is. */
const remotePort = (): RemoteStripPort => {
  const { port1, port2 } = new MessageChannel();
  exposeStripHost(port1);
  const close = (): void => port1.close();
  open.push(close);
  return new RemoteStripPort(port2, close);
};

/** A host that takes its time once it has some strips: what waits behind it goes to others. */
const slowPort = (): StripPort => {
  const port = remotePort();
  const run = port.run.bind(port);
  let runs = 0;
  port.run = async (...args) => {
    if (++runs > 4) await new Promise((resolve) => setTimeout(resolve, 100));
    return run(...args);
  };
  return port;
};

describe('a pool of strips', () => {
  it('gives what strips give that run alone over the whole song', async () => {
    const paths = await alone;
    const frames = runFrames(plan);
    const strip = plan.strips.find(({ id }) => id === 'keys');
    const out = [new Float32Array(frames), new Float32Array(frames)] as const;
    const inputs = strip!.from.map(({ id }) =>
      placed(sources.get(id)!, plan.sources.find((source) => source.id === id)!.startFrame, frames),
    );
    new Strip(strip!.spec, 48_000, frames).process(inputs, ...out, 0, frames);
    const { channels } = paths.get(strip!.id)!;
    channels.forEach((channel, n) => {
      const expected = out[n]!.subarray(strip!.latency, strip!.latency + plan.frames);
      expect(firstUnlike(channel, expected)).toBe(-1);
    });
  });

  it('gives the same to the bit with one and several hosts, in this thread and behind messages', async () => {
    const expected = await alone;
    for (const ports of [
      ...(isSoaking ? [[remotePort()], [remotePort(), remotePort()]] : []),
      [remotePort(), remotePort(), remotePort()],
      [new LocalStripPort(), remotePort()],
      [slowPort(), remotePort()],
    ])
      expectSame(await new StripPool(ports).render(plan, sources), expected);
  });

  it('hands a strip that waits behind a busy host over to one that stands idle', async () => {
    const [slow, quick] = [slowPort(), remotePort()];
    let left = 0;
    const leave = slow.leave.bind(slow);
    slow.leave = (strip) => {
      left++;
      return leave(strip);
    };
    const ids = Array.from({ length: 8 }, (_, n) => `part-${n}`);
    const wide = planned(
      sessionFrom({
        tracks: ids.map((id) => ({ id: `${id}-track`, name: id, file: 'take.wav', group: id })),
        groups: ids.map((id) => ({ id, name: id, chain: [item('compressor', { threshold: -30 })] })),
      }),
      Object.fromEntries(ids.map((id) => [`${id}-track`, sounds.kick])),
    );
    const paths = await new StripPool([slow, quick]).render(wide.plan, wide.sources);
    expect(left).toBeGreaterThan(0);
    expectSame(paths, await renderDirect(wide.plan, wide.sources));
  });

  it('finds strips in the cache, and leaves there what it has run, also when it is stopped', async () => {
    const cache = new StripCache();
    const expected = await alone;
    const stop = new AbortController();
    const pool = new StripPool([remotePort(), remotePort()]);
    const stopped = pool.render(plan, sources, {
      cache,
      signal: stop.signal,
      onProgress: (done) => {
        if (done > 0.7) stop.abort(new DOMException('enough', 'AbortError'));
      },
    });
    await expect(stopped).rejects.toThrow('enough');
    expectSame(await pool.render(plan, sources, { cache }), expected);
    let told = 0;
    await pool.render(plan, sources, { cache, onProgress: () => told++ });
    // Everything was there: it begins, and ends.
    expect(told).toBe(2);
  });

  it('goes on where a stopped render of its row was, also where one strip of it is another now', async () => {
    const begun: number[] = [];
    const watched = (): StripPort => {
      const port = remotePort();
      const begin = port.begin.bind(port);
      port.begin = (strip, start) => {
        begun.push(strip);
        return begin(strip, start);
      };
      return port;
    };
    const pool = new StripPool([watched(), watched()]);
    const options = { cache: new StripCache(), room: memoryRoom, follows: 'mix' };
    const half = (other: typeof plan): Promise<unknown> => {
      const stop = new AbortController();
      const onProgress = (done: number): void =>
        done > 0.5 ? stop.abort(new DOMException('enough', 'AbortError')) : undefined;
      return pool.render(other, sources, { ...options, signal: stop.signal, onProgress }).catch(() => {});
    };
    await half(plan);
    const first = new Set(begun.splice(0));
    expect(first.size).toBe(plan.strips.length);
    const other = planned(
      { ...session, buses: session.buses.map((bus) => (bus.id === 'echo' ? { ...bus, chain: [] } : bus)) },
      sounds,
    );
    let grown: RenderedPaths | null = null;
    let there = 0;
    const paths = await pool.render(other.plan, other.sources, {
      ...options,
      onBegun: (growing) => {
        grown = growing.paths;
        there = growing.reach('drums');
      },
    });
    expectSame(paths, await renderDirect(other.plan, other.sources));
    // What the row had of the drums was there at once, in the same objects; only the echo and what it feeds began anew.
    expect(there).toBeGreaterThan(0);
    for (const [id, path] of paths) expect(grown!.get(id)).toBe(path);
    expect(new Set(begun.filter((strip) => !first.has(strip))).size).toBe(2);
  });

  it('runs once what two renders of rows want at the same time', async () => {
    let runs = 0;
    const port = remotePort();
    const run = port.run.bind(port);
    port.run = (...args) => {
      runs++;
      return run(...args);
    };
    const pool = new StripPool([port]);
    const room = memoryRoom;
    const [one, two] = await Promise.all([
      pool.render(plan, sources, { room, follows: 'mix' }),
      pool.render(plan, sources, { room, follows: 'received' }),
    ]);
    expect(runs).toBe(plan.strips.length * Math.ceil(runFrames(plan) / STRETCH_FRAMES));
    expectSame(one, two);
  });

  it('renders two plans side by side', async () => {
    const other = planned({ ...session, buses: session.buses.map((bus) => ({ ...bus, chain: [] })) }, sounds);
    const pool = new StripPool([remotePort(), remotePort()]);
    const [one, two] = await Promise.all([pool.render(plan, sources), pool.render(other.plan, other.sources)]);
    expectSame(one, await alone);
    expectSame(two, await renderDirect(other.plan, other.sources));
  });

  it('renders that are heard together advance together, whatever each of their strips costs', async () => {
    /** By how many stretches the smaller render was ahead at most, while one host ran both: others take what else would have to wait. */
    const ahead = async (abreast?: string): Promise<number> => {
      const pool = new StripPool([new LocalStripPort()]);
      open.push(() => pool.dispose());
      const small = planned(
        { ...session, buses: [], groups: session.groups.slice(0, 1), tracks: session.tracks.slice(0, 1) },
        sounds,
      );
      let most = 0;
      const reach = { large: () => 0, small: () => 0 };
      const options = (name: 'large' | 'small') => ({
        ...(abreast !== undefined && { abreast }),
        onBegun: (growing: GrowingPaths) =>
          (reach[name] = () => Math.min(...[...growing.paths.keys()].map(growing.reach))),
        onProgress: () => {
          const [behind, before] = [reach.large(), reach.small()];
          if (Number.isFinite(before)) most = Math.max(most, before - behind);
        },
      });
      await Promise.all([
        pool.render(plan, sources, options('large')),
        pool.render(small.plan, small.sources, options('small')),
      ]);
      return most / STRETCH_FRAMES;
    };
    // Of a strip's stretch there is in the song what comes before its latency.
    const late = Math.max(...plan.strips.map(({ latency }) => latency)) / STRETCH_FRAMES;
    expect(await ahead('song')).toBeLessThanOrEqual(1 + late);
    expect(await ahead()).toBeGreaterThan(1 + late);
  });

  it('refuses when a host has failed, and says so', async () => {
    const port = remotePort();
    const rendering = new StripPool([port]).render(plan, sources);
    port.fail(new Error('the rendering worker stopped: out of memory'));
    await expect(rendering).rejects.toThrow('out of memory');
  });
});
