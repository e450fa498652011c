import { describe, expect, test } from 'vitest';
import type { Audio } from '../../../src/audio/audio.ts';
import { busAlignment, type PathAlignment } from '../../../src/blend/ledger/path-alignment.ts';
import { alignmentOf } from '../../../src/measure/match/alignment.ts';
import { renderDirect } from '../../../src/render/direct.ts';
import { originsOf } from '../../../src/render/plan/origins.ts';
import { snareHits } from '../../helpers/parts.ts';
import { planned, sessionFrom } from '../../helpers/sessions.ts';
import { mono, stereo } from '../../helpers/signals.ts';

const SECONDS = 4;
const take = snareHits(SECONDS, 9);

const item = (processor: string, settings: Record<string, number | string | boolean> = {}, more = {}) => ({
  ...{ id: processor, processor, settings },
  ...more,
});

/** 1 ms, 48 samples. */
const delay = (mix = 100) => item('delay', { time: 1, feedback: 0, mix });
const inverted = item('gain', { polarity: 'inverted' });
const lowCut = item('eq', { 'band1.on': true, 'band1.frequency': 300, 'band1.slope': '24 dB/oct' });
const lookAhead = item('limiter', { ceiling: -20 });

const click = (at: number): Audio => {
  const samples = new Float32Array(2400);
  samples[at] = 1;
  return stereo(samples);
};

/** A group into a bus of this chain, and that into another bus of that chain. */
const alignments = (chain: unknown[], then: unknown[] = [], send = {}) => {
  const session = sessionFrom({
    groups: [{ id: 'band', name: 'band', sends: [{ to: 'bus', ...send }] }],
    buses: [
      { id: 'bus', name: 'bus', chain, sends: [{ to: 'next' }] },
      { id: 'next', name: 'next', chain: then },
    ],
  });
  const { plan, sources } = planned(session, { take: mono(take) }, { 'box.wav': click(5), 'late.wav': click(100) });
  const origins = originsOf(plan);
  const of = (id: string): PathAlignment => busAlignment(origins.get(id)!.doubles);
  return { plan, sources, bus: of('bus'), next: of('next') };
};

describe('how a bus lies, by the design of its chain', () => {
  test.each([
    ['filters', [lowCut], 0, 1],
    ['a look-ahead, whose latency is taken off', [lookAhead], 0, 1],
    ['a delay with nothing of the sound itself', [delay()], 48, 1],
    ['a delay of which there is less than of the sound', [delay(40)], 0, 1],
    ['a delay that is the larger share of a processor', [{ ...delay(), mix: 60 }], 48, 1],
    ['a delay that is the smaller share of one', [{ ...delay(), mix: 30 }], 0, 1],
    ['a delay and filters in a split', [{ id: 's', split: [lowCut, delay()], mix: 80 }], 48, 1],
    ['an inverted polarity', [lookAhead, inverted], 0, -1],
    ['polarity inverted twice', [inverted, { ...inverted, id: 'again' }], 0, 1],
    [
      'one copy that does not move',
      [item('doubler', { copies: '1', delay: 5, drift: 0, levelDrift: 0, mix: 100 })],
      240,
      1,
    ],
    ['a response that begins late', [item('convolution', { mix: 100 }, { sound: 'late.wav' })], 100, 1],
  ] as const)('%s: as plain measuring finds it', async (_, chain, lagSamples, polarity) => {
    const { plan, sources, bus } = alignments([...chain]);
    expect(bus).toMatchObject({ against: ['band'], lagSamples, polarity });
    const paths = await renderDirect(plan, sources);
    const [group, sound] = ['band', 'bus'].map((id) => paths.get(id)!.channels[0]!) as [Float32Array, Float32Array];
    // The independent check: the measured lag, in which the phase of the filters is told apart.
    expect(alignmentOf(group, sound)).toMatchObject({ lagSamples, polarity });
  });

  test.each([
    ['a reverberation', item('reverb', { mix: 100 })],
    ['moving copies', item('chorus', { mix: 100 })],
    ['further takes', item('doubler', { mix: 100 })],
  ])('%s is spread over time and has no lag', (_, wet) => {
    expect(alignments([wet]).bus).toMatchObject({ against: ['band'], lagSamples: null });
    expect(alignments([{ ...wet, mix: 20 }]).bus.lagSamples).toBe(0);
  });

  test('adds up over two buses, and names what makes it late', () => {
    const { bus, next } = alignments([delay(), inverted], [lowCut, delay()]);
    expect(bus).toMatchObject({ lagSamples: 48, polarity: -1, by: ['Delay', 'Gain'] });
    expect(next).toMatchObject({ lagSamples: 96, polarity: -1, by: ['Delay', 'Gain', 'Delay'] });
  });

  test('is told of the farthest of several ways', () => {
    const session = sessionFrom({
      groups: [{ id: 'band', name: 'band', sends: [{ to: 'bus' }, { to: 'next' }] }],
      buses: [
        { id: 'bus', name: 'bus', chain: [delay()], sends: [{ to: 'next' }] },
        { id: 'next', name: 'next' },
      ],
    });
    const { plan } = planned(session, { take: mono(take) });
    expect(busAlignment(originsOf(plan).get('next')!.doubles).lagSamples).toBe(48);
  });

  test('a send that lets nothing through doubles nothing', () => {
    expect(alignments([delay()], [], { on: false }).bus.against).toEqual([]);
    expect(alignments([delay()], [], { levelDb: -90 }).bus.against).toEqual([]);
  });

  test('a group comes late by its own chain and by those of all its tracks, where they are alike', () => {
    const track = (id: string, chain: unknown[]) => ({ id, name: id, file: `${id}.wav`, group: 'band', chain });
    const through = (first: unknown[], second: unknown[]) => {
      const tracks = [track('one', first), track('two', second)];
      const session = sessionFrom({ tracks, groups: [{ id: 'band', name: 'band', chain: [inverted] }] });
      return originsOf(planned(session, { one: mono(take), two: mono(take) }).plan).get('band')!.arrival;
    };
    expect(through([delay()], [delay()])).toEqual({ lagSamples: 48, polarity: -1, by: ['Delay', 'Gain'] });
    expect(through([delay()], [])).toEqual({ lagSamples: 0, polarity: -1, by: ['Gain'] });
  });
});
