import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import { processors } from '../../src/dsp/core/registry.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { asReceived } from '../../src/render/plan/make-plan.ts';
import { gainsOf, sumPaths, throughMixBus } from '../../src/render/mix.ts';
import { StripCache } from '../../src/render/strip-cache.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { mono, stereo, whiteNoise } from '../helpers/signals.ts';
import { limitingAt } from '../helpers/limiting.ts';

const left = whiteNoise(0.5, 1);
const take = stereo(left, whiteNoise(0.5, 2));

const item = (processor: string, settings: Record<string, number | string | boolean> = {}) => ({
  id: processor,
  processor,
  settings,
});

/** A group and a bus beside it that holds `chain`, both at 0 dB. */
const doubled = (chain: unknown[]) =>
  sessionFrom({
    groups: [{ id: 'band', name: 'band', sends: [{ to: 'beside' }] }],
    buses: [{ id: 'beside', name: 'beside', chain }],
  });

const rendered = async (session: ReturnType<typeof sessionFrom>, sounds: Parameters<typeof planned>[1] = { take }) => {
  const { plan, sources } = planned(session, sounds);
  const paths = await renderDirect(plan, sources);
  return { plan, sources, paths, mix: sumPaths(paths, gainsOf(plan)) };
};

/** Largest difference between a channel and `gain` times a signal, over the signal's length. */
const residual = (channel: Float32Array, signal: Float32Array, gain: number): number =>
  signal.reduce((worst, x, n) => Math.max(worst, Math.abs(channel[n]! - gain * x)), 0);

describe('direct render', () => {
  it.each([...processors.keys()])('a bus with a neutral %s beside its own source doubles it exactly', async (id) => {
    const { mix } = await rendered(doubled([item(id)]));
    expect(residual(mix.channels[0]!, left, 2)).toBe(0);
  });

  it('doubles exactly through every processor in a row and any look-ahead', async () => {
    await fc.assert(
      fc.asyncProperty(fc.double({ min: 0, max: 20, noNaN: true }), async (lookAhead) => {
        const chain = [...processors.keys()].map((id) => item(id, id === 'compressor' ? { lookAhead } : {}));
        const { mix } = await rendered(doubled(chain));
        expect(residual(mix.channels[0]!, left, 2)).toBe(0);
      }),
      { numRuns: 8 },
    );
  });

  it('a shut blend is silent, and a path that is off feeds nothing', async () => {
    const shut = doubled([]);
    const { mix } = await rendered({ ...shut, buses: [{ ...shut.buses[0]!, blendDb: -90 }] });
    expect(residual(mix.channels[0]!, left, 1)).toBe(0);
    const off = await rendered({ ...shut, groups: [{ ...shut.groups[0]!, on: false }] });
    expect(off.mix.channels[0]!.every((x) => x === 0)).toBe(true);
  });

  it('sends after the fader follow it, sends before it do not', async () => {
    const levels = async (tap: string): Promise<number> => {
      const { paths } = await rendered(
        sessionFrom({
          groups: [{ id: 'band', name: 'band', faderDb: -20, sends: [{ to: 'beside', levelDb: -6, tap }] }],
          buses: [{ id: 'beside', name: 'beside' }],
        }),
      );
      return paths.get('beside')!.channels[0]![100]! / left[100]!;
    };
    expect(await levels('post-fader')).toBeCloseTo(10 ** (-26 / 20), 6);
    expect(await levels('pre-fader')).toBeCloseTo(10 ** (-6 / 20), 6);
  });

  it('places a track by its offset, polarity and pan', async () => {
    const track = { id: 'take', name: 'take', file: 'take.wav', group: 'band' };
    const late = await rendered(sessionFrom({ tracks: [{ ...track, offsetSeconds: 0.01, polarity: 'inverted' }] }), {
      take: mono(left),
    });
    expect(late.mix.channels[0]![479]).toBe(0);
    expect(late.mix.channels[1]![480 + 7]).toBe(-left[7]!);
    const early = await rendered(sessionFrom({ tracks: [{ ...track, offsetSeconds: -0.01 }] }));
    expect(early.mix.channels[0]![0]).toBe(left[480]);
    const hard = await rendered(sessionFrom({ tracks: [{ ...track, pan: -1 }] }), { take: mono(left) });
    expect(hard.mix.channels[0]![9]).toBeCloseTo(Math.SQRT2 * left[9]!, 6);
    expect(Math.abs(hard.mix.channels[1]![9]!)).toBeLessThan(1e-12);
  });

  it('a track with a chain of its own stays aligned with its neighbours', async () => {
    const chain = [item('compressor', { lookAhead: 7.3 })];
    const { mix } = await rendered(
      sessionFrom({
        tracks: [
          { id: 'take', name: 'take', file: 'take.wav', group: 'band' },
          { id: 'again', name: 'again', file: 'take.wav', group: 'band', chain },
        ],
      }),
      { take, again: take },
    );
    expect(residual(mix.channels[0]!, left, 2)).toBe(0);
  });

  it('a bus fed by a bus with latency is aligned too', async () => {
    const { mix } = await rendered(
      sessionFrom({
        groups: [{ id: 'band', name: 'band', sends: [{ to: 'one' }, { to: 'two' }] }],
        buses: [
          { id: 'one', name: 'one', chain: [item('compressor', { lookAhead: 11 })], sends: [{ to: 'two' }] },
          { id: 'two', name: 'two', chain: [item('compressor', { lookAhead: 3 })] },
        ],
      }),
    );
    // band + one + (band + one) = 4
    expect(residual(mix.channels[0]!, left, 4)).toBe(0);
  });

  it('the mix bus takes its own latency off', async () => {
    const { plan, mix } = await rendered(
      sessionFrom({ mixBus: { trimDb: -6, chain: [item('compressor', { lookAhead: 5 })] } }),
    );
    const printed = throughMixBus(mix, plan.mixBus);
    expect(residual(printed.channels[0]!, left, 10 ** (-6 / 20))).toBeLessThan(1e-7);
  });

  it('as received: no chains, no buses, faders at 0', async () => {
    const worked = doubled([item('gain', { gain: 12 })]);
    const { mix, plan } = await rendered(asReceived({ ...worked, groups: [{ ...worked.groups[0]!, faderDb: -12 }] }));
    expect(plan.paths.map(({ id }) => id)).toEqual(['band']);
    expect(residual(mix.channels[0]!, left, 1)).toBe(0);
  });

  it('renders again only what depends on a change', async () => {
    const cache = new StripCache();
    const session = doubled([item('gain', { gain: -3 })]);
    const { plan, sources } = planned(session, { take });
    const first = await renderDirect(plan, sources, { cache });
    const moved = planned({ ...session, buses: [{ ...session.buses[0]!, blendDb: -9 }] }, { take });
    const second = await renderDirect(moved.plan, moved.sources, { cache });
    expect(second.get('beside')!.channels[0]!.buffer).toBe(first.get('beside')!.channels[0]!.buffer);
    const changed = planned(doubled([item('gain', { gain: -4 })]), { take });
    const third = await renderDirect(changed.plan, changed.sources, { cache });
    expect(third.get('beside')!.channels[0]!.buffer).not.toBe(first.get('beside')!.channels[0]!.buffer);
    expect(third.get('band')!.channels[0]!.buffer).toBe(first.get('band')!.channels[0]!.buffer);
  });

  it('stops when asked', async () => {
    const { plan, sources } = planned(doubled([item('gain')]), { take: mono(whiteNoise(60, 3)) });
    const stop = new AbortController();
    const rendering = renderDirect(plan, sources, { signal: stop.signal, onProgress: () => stop.abort() });
    await expect(rendering).rejects.toThrow(/abort/i);
  });

  it.each([0, 5, 13.7])('a key steers in time behind %s ms of look-ahead', async (lookAhead) => {
    const steady = mono(new Float32Array(24_000).fill(0.25));
    const knock = mono(Float32Array.from({ length: 24_000 }, (_, n) => (n < 10_000 ? 0 : 0.5)));
    const keyed = { ...limitingAt(-60), sideChain: 'external' };
    const track = (id: string, group: string) => ({ id, name: id, file: `${id}.wav`, group });
    const { paths } = await rendered(
      sessionFrom({
        tracks: [track('steady', 'band'), track('knock', 'drums')],
        groups: [
          { id: 'drums', name: 'drums', chain: [item('compressor', { lookAhead: 9 })] },
          { id: 'band', name: 'band', sends: [{ to: 'ducked' }] },
        ],
        buses: [
          {
            id: 'ducked',
            name: 'ducked',
            key: 'drums',
            chain: [item('compressor', { lookAhead }), { ...item('compressor', keyed), id: 'duck' }],
          },
        ],
      }),
      { steady, knock },
    );
    const ducked = paths.get('ducked')!.channels[0]!;
    expect(ducked[9_999]).toBe(0.25);
    expect(ducked[10_004]).toBeLessThan(0.01);
  });
});
