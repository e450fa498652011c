import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Settings } from '../../src/dsp/core/parameter.ts';
import { processors } from '../../src/dsp/core/registry.ts';
import { wholeOf } from '../../src/audio/audio.ts';
import type { RenderedPaths } from '../../src/render/executor.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { StripCache } from '../../src/render/strip-cache.ts';
import { WorkerRenderer } from '../../src/render/worker-renderer.ts';
import { renderWebAudio } from '../../src/render/web-audio/web-audio.ts';
import { presets } from '../../src/session/presets/presets.ts';
import { processorItem, splitItem } from '../helpers/chain-items.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { mono, stereo, whiteNoise } from '../helpers/signals.ts';
import { sampleOf } from '../helpers/soak.ts';

/** -140 dBFS. */
const NULL_FLOOR = 1e-7;

/** Largest difference between two renders of one path, full scale 1. */
const residual = (a: RenderedPaths, b: RenderedPaths, id: string): number => {
  let worst = 0;
  const [one, its] = [a, b].map((paths) => wholeOf(paths.get(id)!).channels) as [
    readonly Float32Array[],
    readonly Float32Array[],
  ];
  one.forEach((channel, n) => {
    const other = its[n]!;
    expect(other.length).toBe(channel.length);
    for (let i = 0; i < channel.length; i++) worst = Math.max(worst, Math.abs(channel[i]! - other[i]!));
  });
  return worst;
};

const ids = [...processors.keys()];
/** Buses feed each other, so that their tails add up: these would make them ten times as long as the sound. */
const SHORT_TAILS: Readonly<Record<string, Settings>> = {
  delay: { time: 90, feedback: 20 },
  reverb: { decay: 0.4 },
};
const chainOf = (id: string) => {
  const { sound, start } = processors.get(id)!;
  const settings = { ...start, ...SHORT_TAILS[id] };
  return [{ id, processor: id, settings, ...(sound !== undefined && { sound: 'room.wav' }) }];
};
const room = stereo(
  whiteNoise(0.3, 15, 0.1).map((x, n) => x * Math.exp(-n / 3000)),
  whiteNoise(0.3, 16, 0.1).map((x, n) => x * Math.exp(-n / 3000)),
);

/** Two late processors, one of which listens to the key, beside the dry sound; one of them has a dry share of its own. */
const inSplit = splitItem(
  [
    processorItem('limiter', { mix: 70 }),
    processorItem('compressor', { settings: { threshold: -40, sideChain: 'external', lookAhead: 5 } }),
  ],
  { mix: 40, law: 'equal power' },
);

/** Two groups (a track whose right channel is late), a bus for every processor (keyed by the drums) and for a split, one bus fed by another, a track with its own chain. */
const session = sessionFrom({
  tracks: [
    { id: 'drum', name: 'drum', file: 'drum.wav', group: 'drums', offsetSeconds: 0.05 },
    { id: 'keys', name: 'keys', file: 'keys.wav', group: 'band', pan: -0.4, gainDb: -3, rightOffsetSeconds: 0.004 },
    { id: 'bass', name: 'bass', file: 'bass.wav', group: 'band', polarity: 'inverted', chain: chainOf('eq') },
  ],
  groups: [
    { id: 'drums', name: 'drums', sends: ids.map((id) => ({ to: `bus-${id}`, levelDb: -2 })) },
    { id: 'band', name: 'band', faderDb: -4, sends: [...ids, 'split'].map((id) => ({ to: `bus-${id}`, levelDb: -7 })) },
  ],
  buses: [
    ...ids.map((id, n) => ({
      id: `bus-${id}`,
      name: id,
      key: 'drums',
      chain: chainOf(id),
      sends: n + 1 < ids.length ? [{ to: `bus-${ids[n + 1]}`, levelDb: -12 }] : [],
    })),
    { id: 'bus-split', name: 'split', key: 'drums', chain: [inSplit] },
  ],
});

const sounds = {
  drum: mono(whiteNoise(0.7, 11, 0.2)),
  keys: stereo(whiteNoise(0.9, 12, 0.1), whiteNoise(0.9, 13, 0.1)),
  bass: mono(whiteNoise(0.8, 14, 0.1)),
};

const whole = planned(session, sounds, { 'room.wav': room });
/** What the direct executor makes of all of it, rendered once. */
const direct = renderDirect(whole.plan, whole.sources);

/** A bus that only sets a level stands in place of one of the session's. */
const withGain = (bus: string, gain: number) => {
  const chain = [processorItem('gain', { settings: { gain } })];
  const buses = session.buses.map((each) => (each.id === bus ? { ...each, chain } : each));
  return planned({ ...session, buses }, sounds, { 'room.wav': room });
};

/** Work that is stopped once the first part is told ends there. */
const stopsSoon = async (work: (options: Parameters<typeof renderWebAudio>[2]) => Promise<unknown>): Promise<void> => {
  const stop = new AbortController();
  const heard: number[] = [];
  const onProgress = (done: number): void => {
    heard.push(done);
    if (done > 0) stop.abort();
  };
  await expect(work({ signal: stop.signal, onProgress })).rejects.toThrow(/abort/i);
  expect(heard.at(-1)).toBeLessThan(1);
};

describe('the Web Audio graph and the direct executor', () => {
  const cache = new StripCache();
  const told: number[] = [];
  let first: Awaited<ReturnType<typeof renderWebAudio>>;
  beforeAll(async () => {
    first = await renderWebAudio(whole.plan, whole.sources, { cache, onProgress: (done) => told.push(done) });
  });

  it('render every path alike, below -140 dBFS', async () => {
    for (const { id } of whole.plan.paths) expect(residual(await direct, first, id), id).toBeLessThan(NULL_FLOOR);
  });

  // The processors stand in the session above; each preset's chain runs in the direct executor in tests/presets.
  const sample = sampleOf(presets, 6).map((preset) => [preset.name, preset] as const);
  it.each(sample)('render alike: %s', async (_name, { chain }) => {
    const alone = sessionFrom({
      groups: [{ id: 'band', name: 'band', sends: [{ to: 'bus', levelDb: 0 }] }],
      buses: [{ id: 'bus', name: 'bus', key: 'band', chain }],
    });
    const take = stereo(whiteNoise(0.3, 21, 0.2), whiteNoise(0.3, 22, 0.1));
    const { plan, sources } = planned(alone, { take });
    const direct = await renderDirect(plan, sources);
    const graph = await renderWebAudio(plan, sources);
    for (const { id } of plan.paths) expect(residual(direct, graph, id), id).toBeLessThan(NULL_FLOOR);
  });

  it('render lines over time alike', async () => {
    const target = { of: 'bus', what: 'parameter', item: 'comp', parameter: 'threshold' };
    const lined = sessionFrom({
      groups: [{ id: 'band', name: 'band', sends: [{ to: 'bus', levelDb: 0 }] }],
      buses: [
        {
          ...{ id: 'bus', name: 'bus' },
          chain: [{ id: 'comp', processor: 'compressor', settings: { lookAhead: 5, ratio: 8 } }],
        },
      ],
      lines: [
        { target, from: 0, to: -50 },
        { target: { of: 'take', what: 'pan' }, from: -1, to: 1 },
        { target: { of: 'band', what: 'send', to: 'bus' }, from: 6, to: -30 },
        { target: { of: 'bus', what: 'level' }, from: -20, to: 0 },
        { target: { of: 'bus', what: 'bypass', item: 'comp' }, from: false, to: true },
      ].map(({ target: moved, from, to }, n) => ({
        ...{ id: `line-${n}`, target: moved },
        points: [
          { at: 0.1, value: from, curve: typeof from === 'number' ? 's-curve' : 'hold' },
          { at: 0.2, value: to },
        ],
      })),
    });
    const { plan, sources } = planned(lined, { take: stereo(whiteNoise(0.3, 21, 0.2), whiteNoise(0.3, 22, 0.1)) });
    const direct = await renderDirect(plan, sources);
    const graph = await renderWebAudio(plan, sources);
    for (const { id } of plan.paths) expect(residual(direct, graph, id), id).toBeLessThan(NULL_FLOOR);
  });

  it('render more paths than one pass holds', async () => {
    const many = Array.from({ length: 20 }, (_, n) => `bus-${n}`);
    const crowd = sessionFrom({
      groups: [{ id: 'band', name: 'band', sends: many.map((to, n) => ({ to, levelDb: -n })) }],
      buses: many.map((id, n) => ({
        id,
        name: id,
        ...(n < 19 ? { sends: [{ to: `bus-${n + 1}`, levelDb: -20 }] } : {}),
      })),
    });
    const { plan, sources } = planned(crowd, { take: mono(whiteNoise(0.1, 5)) });
    const direct = await renderDirect(plan, sources);
    const graph = await renderWebAudio(plan, sources);
    for (const { id } of plan.paths) expect(residual(direct, graph, id), id).toBeLessThan(NULL_FLOOR);
  });

  it('render only what changed, to the same sound', async () => {
    const again = withGain('bus-gain', -5);
    const second = await renderWebAudio(again.plan, again.sources, { cache });
    const anew = await renderDirect(again.plan, again.sources);
    expect(second.get('band')!.channels[0]!.buffer === first.get('band')!.channels[0]!.buffer).toBe(true);
    expect(second.get('bus-gain')!.channels[0]!.buffer === first.get('bus-gain')!.channels[0]!.buffer).toBe(false);
    for (const { id } of again.plan.paths) expect(residual(anew, second, id), id).toBeLessThan(NULL_FLOOR);
  });

  it('tell how far the graph has come, and stop soon when asked', async () => {
    const { plan, sources } = whole;
    // It tells so after each second of each of two passes of sixteen strips; what comes when a pass is done already is not told.
    expect(told.length).toBeGreaterThan(Math.floor(plan.frames / plan.sampleRate));
    expect(told).toEqual([...told].sort((a, b) => a - b));
    expect(told.at(-1)).toBe(1);

    await stopsSoon((options) => renderWebAudio(plan, sources, options));
  });
});

describe('the rendering worker', () => {
  const renderer = new WorkerRenderer(2);
  afterAll(() => renderer.dispose());

  it('gives what the direct executor gives, bit for bit, at once and with what was rendered before', async () => {
    const cache = new StripCache();
    const first = await renderer.render(whole.plan, whole.sources, { cache });
    for (const { id } of whole.plan.paths) expect(residual(await direct, first, id), id).toBe(0);
    const again = withGain('bus-split', 2);
    const second = await renderer.render(again.plan, again.sources, { cache });
    const anew = await renderDirect(again.plan, again.sources);
    for (const { id } of again.plan.paths) expect(residual(anew, second, id), id).toBe(0);
    expect(second.get('band')).toBe(first.get('band'));
  });

  it('tells how far it has come, stops when asked, and goes on with the next', async () => {
    const long = planned(session, { ...sounds, drum: mono(whiteNoise(4, 11, 0.2)) }, { 'room.wav': room });
    await stopsSoon((options) => renderer.render(long.plan, long.sources, options));
    const paths = await renderer.render(whole.plan, whole.sources);
    expect([...paths.keys()]).toEqual(whole.plan.paths.map(({ id }) => id));
  });
});
