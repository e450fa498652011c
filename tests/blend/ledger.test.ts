import { describe, expect, it } from 'vitest';
import { flowOf } from '../../src/blend/ledger/flow.ts';
import { DIRECT, type WayArrival } from '../../src/dsp/core/arrival.ts';
import type { QueryPath } from '../../src/blend/gram/make-blend-query.ts';
import { ledgerOf, type LedgerBasis, type LedgerInput } from '../../src/blend/ledger/ledger.ts';
import { ledgerBasisOf } from '../helpers/ledger-bases.ts';
import type { Audio } from '../../src/audio/audio.ts';
import { measure } from '../../src/measure/measure.ts';
import { expectSameFigures, summedPaths } from '../helpers/blends.ts';
import { added, pinkNoise, scaled, sine, stereo, whiteNoise } from '../helpers/signals.ts';

const SECONDS = 5.0125;
const FRAMES = 240_600;
const pink = pinkNoise(SECONDS, 1, 0.08).slice(0, FRAMES);
const other = pinkNoise(SECONDS, 2, 0.08).slice(0, FRAMES);
const bright = whiteNoise(SECONDS, 3, 0.02);
const tone = sine({ hz: 180, seconds: SECONDS, db: -20 });
/** Loud at first, faint later, so that the gates have something to do. */
const swelling = pink.map((x, n) => x * (n < pink.length / 2 ? 1 : 0.02));

const input = (
  id: string,
  audio: Audio,
  doubles: string[] = [],
  arrival: WayArrival = DIRECT,
): LedgerInput & QueryPath<Audio> => ({
  ...{ id, audio, arrival: DIRECT },
  doubles: doubles.map((each) => ({ id: each, ...arrival })),
});

/** The basis of groups that stand there as they were received, and of buses made of them. */
const basisOfGroups = (...paths: readonly LedgerInput[]): LedgerBasis =>
  ledgerBasisOf(paths, { received: paths.filter(({ doubles }) => doubles.length === 0) });
const inputs = [
  input('band', stereo(pink, added(scaled(pink, 0.6), scaled(other, 0.5)))),
  input('bass', stereo(tone)),
  input('air', stereo(bright, scaled(bright, -0.7)), ['band']),
  input('swell', stereo(swelling, other), ['band', 'bass']),
];
const basis = ledgerBasisOf(inputs);

const summed = (gains: readonly number[]): Audio =>
  summedPaths(
    inputs.map(({ audio }) => audio),
    gains,
  );

describe('the ledger', () => {
  it('gives shares that add up to one', () => {
    const { paths } = ledgerOf(basis, [1, 0.7, 0.5, 1.2]);
    expect(paths.reduce((sum, { shareOfLoudness }) => sum + shareOfLoudness!, 0)).toBeCloseTo(1, 12);
  });

  it('splits two uncorrelated paths by their energy, and a doubled one in halves', () => {
    const strangers = ledgerBasisOf([input('a', stereo(pink)), input('b', stereo(scaled(other, 0.5)))]);
    const [a, b] = ledgerOf(strangers, [1, 1]).paths;
    expect(a!.shareOfLoudness! / b!.shareOfLoudness!).toBeCloseTo(4, 0);
    const twins = ledgerBasisOf([input('a', stereo(pink)), input('b', stereo(pink))]);
    expect(ledgerOf(twins, [1, 1]).paths.map(({ shareOfLoudness }) => shareOfLoudness)).toEqual([0.5, 0.5]);
    // A copy of equal level raises the mix by 20 log10 2.
    expect(ledgerOf(twins, [1, 1]).paths[1]!.change.integratedLufs).toBeCloseTo(6.0206, 4);
  });

  it('shows what each path changes: with it, less without it', () => {
    const gains = [1, 0.7, 0.5, 1.2];
    const { mix, paths } = ledgerOf(basis, gains);
    const without = measure(summed(gains.with(2, 0)));
    expectSameFigures(paths[2]!.without, without);
    expect(paths[2]!.change.integratedLufs).toBeCloseTo(mix.integratedLufs! - without.integratedLufs!, 6);
  });

  it('a path at −∞ changes nothing', () => {
    const [, bass] = ledgerOf(basis, [1, 0, 1, 1]).paths;
    expect(bass!.change.integratedLufs).toBe(0);
    expect(bass!.shareOfLoudness).toBe(0);
    expect(bass!.sentence).toBe('Adds nothing to the mix: it is muted, at −∞ or silent.');
  });

  it('shows what a path adds alone to the mix as received: a bus on top, a group in place of its tracks', () => {
    const received = [
      { id: 'band', audio: stereo(scaled(pink, 0.8)) },
      { id: 'bass', audio: stereo(tone) },
    ];
    const gains = [1, 0.7, 0.5, 1.2];
    const { paths } = ledgerOf(ledgerBasisOf(inputs, { received }), gains);
    const sounds = [...inputs, ...received].map(({ audio }) => audio);
    const before = measure(summedPaths(sounds, [0, 0, 0, 0, 1, 1]));
    const bus = measure(summedPaths(sounds, [0, 0, 0.5, 0, 1, 1]));
    const group = measure(summedPaths(sounds, [1, 0, 0, 0, 0, 1]));
    expect(paths[2]!.firstIn!.integratedLufs).toBeCloseTo(bus.integratedLufs! - before.integratedLufs!, 6);
    expect(paths[0]!.firstIn!.integratedLufs).toBeCloseTo(group.integratedLufs! - before.integratedLufs!, 6);
    expect(ledgerOf(basis, gains).paths[0]!.firstIn).toBeNull();
  });

  it('tells of a section alone', () => {
    const gains = [1, 0.7, 0.5, 1.2];
    const range = { fromFrame: 48_000, toFrame: 200_000 };
    const { mix } = ledgerOf(ledgerBasisOf(inputs, { range }), gains);
    const cut = summed(gains).channels.map((channel) => channel.slice(range.fromFrame, range.toFrame));
    expectSameFigures(mix, measure({ sampleRate: 48_000, channels: cut }));
  });

  it('sees a late and upside-down double, the hole that it makes, and a way out', () => {
    const late = pink.map((_, n) => -0.9 * (pink[n - 37] ?? 0));
    const way = { lagSamples: 37, polarity: -1, by: ['Delay', 'Gain'] } as const;
    const comb = ledgerBasisOf([input('dry', stereo(pink)), input('late', stereo(late), ['dry'], way)]);
    const [dry, double] = ledgerOf(comb, [1, 1]).paths;
    expect(dry!.alignment.lagSamples).toBeNull();
    expect(dry!.flags).toEqual([]);
    expect(double!.alignment).toMatchObject({ lagSamples: 37, polarity: -1 });
    expect(double!.alignment.cancelsDb).toBeLessThan(-6);
    expect(double!.alignment.cancels.length).toBeGreaterThan(2);
    expect(double!.sentence).toMatch(/cancels \d+\.\d dB at/);
    expect(double!.flags.map(({ code }) => code)).toEqual(['late', 'combs', 'polarity']);
    expect(double!.flags[0]).toMatchObject({
      reason: 'Late by 37 samples (0.77 ms) relative to dry.',
      wayOut: 'Time-align it: the delay is that of its Delay and Gain.',
    });
  });

  it('finds the print of a bus among the groups, late and inverted, and takes no strangers for one', () => {
    const printed = pink.map((_, n) => -0.6 * Math.tanh(3 * (pink[n - 37] ?? 0)));
    const groups = basisOfGroups(
      input('bass', stereo(tone)),
      input('drums', stereo(pink)),
      input('other', stereo(other)),
      input('printed', stereo(printed)),
    );
    const [bass, drums, stranger, print] = ledgerOf(groups, [1, 1, 1, 1]).paths;
    expect(print!.alignment).toMatchObject({ against: ['drums'], lagSamples: 37, polarity: -1 });
    for (const path of [bass, drums, stranger]) expect(path!.alignment.lagSamples).toBeNull();
  });

  it.each([
    ['after', ['dry', 'copy']],
    ['before', ['copy', 'dry']],
  ])('holds a bus that a shut copy feeds against the original that is heard; the copy stands %s it', (_, order) => {
    const late = pink.map((_x, n) => -0.9 * (pink[n - 37] ?? 0));
    const sounds = new Map([
      ['dry', pink],
      ['copy', late],
    ]);
    const groups = order.map((id) => input(id, stereo(sounds.get(id)!)));
    const basisOfCopy = basisOfGroups(...groups, input('bus', stereo(scaled(late, 0.5)), ['copy']));
    const heard = (copy: number): ReturnType<typeof ledgerOf>['paths'][number] =>
      ledgerOf(basisOfCopy, [...order.map((id) => (id === 'dry' ? 1 : copy)), 1]).paths[2]!;
    expect(heard(0).alignment).toMatchObject({ against: ['dry'], lagSamples: 37, polarity: -1 });
    expect(heard(0).flags.map(({ code }) => code)).toContain('late');
    expect(heard(1).alignment).toMatchObject({ against: ['copy'], lagSamples: 0, polarity: 1 });
  });

  it('flags a shut copy that meets its original within a bus', () => {
    const late = pink.map((_x, n) => pink[n - 37] ?? 0);
    const groups = [input('dry', stereo(pink)), input('copy', stereo(late))];
    const codes = (sound: Float32Array, doubles: string[], bus: number): readonly string[] =>
      ledgerOf(basisOfGroups(...groups, input('bus', stereo(sound), doubles)), [1, 0, bus]).paths[1]!.flags.map(
        ({ code }) => code,
      );
    expect(codes(added(pink, late), ['dry', 'copy'], 0.5)).toEqual(['late']);
    expect(codes(added(pink, late), ['dry', 'copy'], 0)).toEqual([]);
    expect(codes(pink, ['dry'], 0.5)).toEqual([]);
  });

  it('tells what a bus cancels of what it doubles, whatever else sounds there, as the phase shift that it is', () => {
    // A resonance of the drums at 316 Hz, which the bus has inverted at 0.41 of its level: 20 log10 0.59 is -4.58 dB.
    const ring = sine({ hz: 316, seconds: SECONDS, db: -20 }).slice(0, FRAMES);
    const drums = added(scaled(pink, 0.01), ring);
    const guitars = sine({ hz: 310, seconds: SECONDS, db: -6 }).slice(0, FRAMES);
    const paths = [input('drums', stereo(drums)), input('guitars', stereo(guitars))];
    const bus = input('bus', stereo(scaled(ring, -0.41)), ['drums']);
    const [, , row] = ledgerOf(ledgerBasisOf([...paths, bus]), [1, 1, 1], (id) => id.toUpperCase()).paths;
    expect(Math.abs(row!.alignment.cancelsDb + 4.58)).toBeLessThan(0.05);
    expect(row!.alignment.cancels).toHaveLength(1);
    expect(row!.flags[0]).toMatchObject({
      code: 'phase shift',
      reason: 'Phase shift relative to DRUMS: cancels 4.6 dB at 320 Hz.',
    });
    // Where the drums are shut there is nothing of theirs to cancel: the mix is what is told of.
    expect(ledgerOf(ledgerBasisOf([...paths, bus]), [0, 1, 1]).paths[2]!.alignment.cancelsDb).toBeGreaterThan(-1);
  });

  it('tells a bus that has nothing in common with what it doubles; not one that turns phase, and not a reverb', () => {
    const found = (sound: Float32Array, arrival: WayArrival = DIRECT): readonly string[] =>
      ledgerOf(
        ledgerBasisOf([input('dry', stereo(pink)), input('bus', stereo(sound), ['dry'], arrival)]),
        [1, 1],
      ).paths[1]!.flags.map(({ code }) => code);
    // Arithmetic: a sum of two sounds that have nothing in common has the power of both, in each band.
    expect(found(other)).toEqual(['uncorrelated']);
    expect(found(other, { ...DIRECT, lagSamples: null, by: ['Reverb'] })).toEqual([]);
    // One part in four of the amplitude in common: correlation 0.25 / sqrt(1.0625) is 0.24.
    expect(found(added(other, scaled(pink, 0.25)))).toEqual([]);
    // A first-order all-pass turns each band by another angle, up to half a turn.
    let last = 0;
    let before = 0;
    const turned = pink.map((x) => {
      last = -0.9 * x + before + 0.9 * last;
      before = x;
      return last;
    });
    expect(found(turned)).not.toContain('uncorrelated');
  });

  it('takes what chains make later off what tracks lie apart, and says which processor it is', () => {
    const late = pink.map((_x, n) => pink[n - 37] ?? 0);
    const chain = { lagSamples: 40, polarity: -1, by: ['Delay'] } as const;
    const [dry, copy] = [input('dry', stereo(pink)), { ...input('copy', stereo(late)), arrival: chain }];
    expect(ledgerOf(basisOfGroups(dry, copy), [1, 1]).paths[1]!.alignment).toMatchObject({
      ...{ against: ['dry'], lagSamples: 77, polarity: -1, by: ['Delay'] },
    });
  });

  it('finds a copy of sound without lows to a hundredth of a sample, and no stranger among such sounds', () => {
    // Strokes of many high tones: written down later they are later exactly.
    const strokes = (first: number, later: number): Float32Array =>
      Float32Array.from({ length: FRAMES / 2 }, (_, n) => {
        const t = n - later;
        const stroke = Math.sin((Math.PI * t) / 6000) ** 8;
        let sum = 0;
        for (let k = 0; k < 40; k++) sum += Math.sin(0.4 * t * (1 + first * k + 0.0007 * k * k));
        return 0.01 * stroke * sum;
      });
    const paths = [
      input('hat', stereo(strokes(0.0371, 0))),
      input('copy', stereo(strokes(0.0371, 3.5))),
      input('shaker', stereo(strokes(0.0296, 0))),
    ];
    const alignments = ledgerOf(basisOfGroups(...paths), [1, 1, 1]).paths.map(({ alignment }) => alignment);
    expect(alignments.map(({ lagSamples }) => lagSamples)).toEqual([null, 3.5, null]);
  });

  it('flags a path that takes loudness away from the others', () => {
    const against = ledgerBasisOf([
      input('dry', stereo(pink)),
      input('bus', stereo(scaled(pink, -0.3)), ['dry'], { ...DIRECT, polarity: -1 }),
    ]);
    const [, bus] = ledgerOf(against, [1, 1]).paths;
    expect(bus!.shareOfLoudness).toBeLessThan(0);
    expect(bus!.flags.map(({ code }) => code)).toEqual(['polarity', 'negative share']);
  });
});

describe('the flow of loudness', () => {
  it('attributes what a bus gives to what feeds it, by energy, and loses nothing', () => {
    const flow = flowOf([
      { id: 'kick', kind: 'source', energy: 4, feeds: [], share: 0 },
      { id: 'bass', kind: 'source', energy: 1, feeds: [], share: 0 },
      { id: 'drums', kind: 'group', energy: 3, feeds: [{ from: 'kick', gain: 1 }], share: 0.5 },
      { id: 'lows', kind: 'group', energy: 1, feeds: [{ from: 'bass', gain: 0.5 }], share: 0.2 },
      {
        id: 'crush',
        kind: 'bus',
        energy: 2,
        feeds: [
          { from: 'drums', gain: 1 },
          { from: 'lows', gain: 1 },
        ],
        share: 0.2,
      },
      { id: 'room', kind: 'bus', energy: 1, feeds: [{ from: 'crush', gain: 0.3 }], share: 0.1 },
    ]);
    const link = (from: string, to: string | null): number =>
      flow.links.find((each) => each.from === from && each.to === to)!.share;
    expect(link('room', null)).toBe(0.1);
    expect(link('crush', 'room')).toBeCloseTo(0.1, 12);
    // Three quarters of what feeds the bus are drums; it hands on its own share and that of the room.
    expect(link('drums', 'crush')).toBeCloseTo(0.3 * 0.75, 12);
    expect(link('lows', 'crush')).toBeCloseTo(0.3 * 0.25, 12);
    expect(link('kick', 'drums') + link('bass', 'lows')).toBeCloseTo(1, 12);
    expect(flow.nodes.find(({ id }) => id === 'drums')!.share).toBeCloseTo(0.725, 12);
  });
});
