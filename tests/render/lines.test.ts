import { describe, expect, it } from 'vitest';
import { gainOf } from '../../src/audio/decibels.ts';
import { makeBlendQuery } from '../../src/blend/gram/make-blend-query.ts';
import { measure } from '../../src/measure/measure.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { soundOf } from '../../src/render/executor.ts';
import { gainsOf, sumPaths } from '../../src/render/mix.ts';
import { printPlan } from '../../src/render/plan/print-plan.ts';
import { mainPrint, settledPlan, sumPrint } from '../../src/render/print.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { mono, pinkNoise, stereo, whiteNoise } from '../helpers/signals.ts';

const RATE = 48_000;
const SECONDS = 0.5;
const take = stereo(whiteNoise(SECONDS, 1), whiteNoise(SECONDS, 2));
const ones = mono(new Float32Array(SECONDS * RATE).fill(1));

type Point = readonly [at: number, value: number | string | boolean, curve?: string];

const line = (of: string, what: string, points: readonly Point[], more: Record<string, string> = {}) => ({
  id: [of, what, ...Object.values(more)].join('-').replaceAll('.', '-'),
  target: { of, what, ...more },
  points: points.map(([at, value, curve = 'hold']) => ({ at, value, curve })),
});

/** A group, a bus that doubles it, and a mix bus. */
const mix = (parts: Record<string, unknown> = {}) =>
  sessionFrom({
    groups: [{ id: 'band', name: 'band', sends: [{ to: 'beside' }] }],
    buses: [{ id: 'beside', name: 'beside', chain: [{ id: 'eq', processor: 'eq', settings: { 'band3.on': true } }] }],
    ...parts,
  });

const rendered = async (session: ReturnType<typeof mix>, sound = take) => {
  const { plan, sources } = planned(session, { take: sound });
  const paths = await renderDirect(plan, sources);
  return { plan, sources, paths, left: (id: string) => paths.get(id)!.channels[0]!.slice(0, SECONDS * RATE) };
};

describe('lines of a session', () => {
  it('that stay at a value are the setting, bit for bit', async () => {
    const still = (value: number | boolean): readonly Point[] => [
      [0, value],
      [0.2, value],
    ];
    const moved = mix({
      lines: [
        line('take', 'level', still(-3)),
        line('take', 'pan', still(0.3)),
        line('band', 'level', still(-6)),
        line('band', 'send', still(-9), { to: 'beside' }),
        line('beside', 'parameter', still(4), { item: 'eq', parameter: 'band3.gain' }),
        line('beside', 'mix', still(50), { item: 'eq' }),
        line('mix', 'trim', still(-2)),
      ],
    });
    const set = mix({
      tracks: [{ id: 'take', name: 'take', file: 'take.wav', group: 'band', gainDb: -3, pan: 0.3 }],
      groups: [{ id: 'band', name: 'band', faderDb: -6, sends: [{ to: 'beside', levelDb: -9 }] }],
      buses: [
        {
          ...{ id: 'beside', name: 'beside' },
          chain: [{ id: 'eq', processor: 'eq', mix: 50, settings: { 'band3.on': true, 'band3.gain': 4 } }],
        },
      ],
      mixBus: { trimDb: -2 },
    });
    const [a, b] = [await rendered(moved), await rendered(set)];
    expect(mainPrint(a.plan, a.paths)).toEqual(mainPrint(b.plan, b.paths));
    expect(soundOf(a.plan)).toBe(soundOf(b.plan));
  });

  it('that are off, or begin to move behind the song, change nothing', async () => {
    const points: Point[] = [
      [0, 0],
      [3000, -20],
    ];
    const [plain, off, later] = [
      await rendered(mix()),
      await rendered(mix({ lines: [{ ...line('take', 'level', [[0, -20]]), on: false }] })),
      await rendered(mix({ lines: [line('take', 'level', points), line('band', 'level', points)] })),
    ];
    expect(sumPaths(off.paths, gainsOf(off.plan))).toEqual(sumPaths(plain.paths, gainsOf(plain.plan)));
    expect(sumPaths(later.paths, gainsOf(later.plan))).toEqual(sumPaths(plain.paths, gainsOf(plain.plan)));
  });

  it('fade a track, a fader and a post-fader send by arithmetic, and a pre-fader send not', async () => {
    const sends = (tap: string) => [{ to: 'beside', tap }];
    const lines = [
      line('take', 'level', [
        [0.1, 0, 'linear'],
        [0.2, -40],
      ]),
      line('band', 'level', [
        [0, -6],
        [0.3, -12],
      ]),
    ];
    const band = { id: 'band', name: 'band' };
    const buses = [{ id: 'beside', name: 'beside' }];
    const [post, pre] = [
      await rendered(mix({ groups: [{ ...band, sends: sends('post-fader') }], buses, lines }), ones),
      await rendered(mix({ groups: [{ ...band, sends: sends('pre-fader') }], buses, lines }), ones),
    ];
    // On control blocks of the song, where gains are worked out; single precision in between.
    const frame = (seconds: number): number => Math.floor((seconds * RATE) / 64) * 64;
    for (const seconds of [0.05, 0.1, 0.15, 0.18, 0.25, 0.29, 0.35]) {
      const at = frame(seconds);
      const track = gainOf(-40 * Math.min(1, Math.max(0, (at / RATE - 0.1) / 0.1)));
      const fader = gainOf(seconds < 0.3 ? -6 : -12);
      expect(pre.left('beside')[at]! / track, `${seconds}`).toBeCloseTo(1, 6);
      expect(post.left('beside')[at]! / (track * fader), `${seconds}`).toBeCloseTo(1, 6);
      const sum = sumPaths(pre.paths, gainsOf(pre.plan)).channels[0]![at]!;
      expect(sum / (track * (fader + 1)), `${seconds}`).toBeCloseTo(1, 6);
    }
  });

  it('switch at the place that they say: not before it, and over 10 ms from there', async () => {
    const place = 9607;
    const lines = [
      line('take', 'on', [
        [0, true],
        [place / RATE, false],
      ]),
      line(
        'band',
        'send',
        [
          [0, -90],
          [place / RATE, 0],
        ],
        { to: 'beside' },
      ),
    ];
    const chain = [{ id: 'compressor', processor: 'compressor', settings: { lookAhead: 5 } }];
    const session = mix({
      tracks: [
        { id: 'take', name: 'take', file: 'take.wav', group: 'band' },
        { id: 'steady', name: 'steady', file: 'steady.wav', group: 'other' },
      ],
      groups: [
        { id: 'band', name: 'band' },
        { id: 'other', name: 'other', chain, sends: [{ to: 'beside' }] },
      ],
      buses: [{ id: 'beside', name: 'beside' }],
      lines: [lines[0]!, { ...lines[1]!, target: { of: 'other', what: 'send', to: 'beside' } }],
    });
    const { plan, sources } = planned(session, { take: ones, steady: ones });
    const paths = await renderDirect(plan, sources);
    const [off, open] = [paths.get('band')!.channels[0]!, paths.get('beside')!.channels[0]!];
    // A corner within a control block is cut by a quarter of the block's rise at most.
    const cut = (0.25 * 64) / 480 + 1e-6;
    for (let at = 9500; at < 10_300; at++) {
      const gone = Math.min(1, Math.max(0, (at - place) / 480));
      expect(Math.abs(off[at]! - (1 - gone))).toBeLessThan(cut);
      expect(Math.abs(open[at]! - gone)).toBeLessThan(cut);
    }
    expect([off[9599], off[10_240]]).toEqual([1, 0]);
    expect([open[9599], open[10_240]]).toEqual([0, 1]);
  });

  it('have echoes and lines in bars follow changes of tempo and meter', async () => {
    const pulses = new Float32Array(8 * RATE);
    const [early, late] = [RATE / 2, 4 * RATE];
    pulses[early] = pulses[late] = 1;
    const chain = [{ id: 'delay', processor: 'delay', settings: { time: '1/4', feedback: 0, mix: 100 } }];
    const session = sessionFrom({
      // Bar 1: 120 BPM, a quarter note of 0.5 s, 2 s long. Bar 2 on: 50 BPM, 1.2 s; in 3/4, so bar 3 begins at 2 + 3.6 s.
      tempoChanges: [{ bar: 2, tempo: 50 }],
      meterChanges: [{ bar: 2, meter: [3, 4] }],
      groups: [{ id: 'band', name: 'band', chain }],
      lines: [
        {
          ...line('band', 'on', [
            [1, true],
            [3, false],
          ]),
          unit: 'bars',
        },
      ],
    });
    const { paths } = await rendered(session, mono(pulses));
    const [left] = paths.get('band')!.channels as [Float32Array];
    const heard = [...left.keys()].filter((n) => Math.abs(left[n]!) > 0.5);
    expect(heard).toEqual([early + 0.5 * RATE, late + 1.2 * RATE]);
    const longer = sessionFrom({
      ...session,
      lines: [
        {
          ...line('band', 'on', [
            [1, true],
            [2.9, false],
          ]),
          unit: 'bars',
        },
      ],
    });
    // The last echo is at 5.2 s; bar 2.9 ends the path at 2 + 0.9 * 3.6 = 5.24 s, and bar 2.8 at 4.88 s.
    expect(
      Math.abs((await rendered(longer, mono(pulses))).paths.get('band')!.channels[0]![late + 1.2 * RATE]!),
    ).toBeGreaterThan(0.5);
    const shorter = sessionFrom({
      ...session,
      lines: [
        {
          ...line('band', 'on', [
            [1, true],
            [2.8, false],
          ]),
          unit: 'bars',
        },
      ],
    });
    expect((await rendered(shorter, mono(pulses))).paths.get('band')!.channels[0]![late + 1.2 * RATE]).toBeCloseTo(
      0,
      12,
    );
  });

  it('are in the print of a pass, in stems and in figures of blends alike', async () => {
    const song = stereo(pinkNoise(4, 1), pinkNoise(4, 2));
    const session = mix({
      lines: [
        line('band', 'level', [
          [0.5, 0],
          [1.3, -14],
          [2, -14, 's-curve'],
          [3, 3],
        ]),
        line('beside', 'on', [
          [0, false],
          [1, true],
          [2.5, false],
        ]),
        line('mix', 'trim', [
          [0, 0, 'linear'],
          [4, -6],
        ]),
      ],
      mixBus: { chain: [{ id: 'gain', processor: 'gain', settings: { gain: -1 } }] },
    });
    const { plan, sources, paths } = await rendered(session, song);
    const settled = settledPlan(plan, paths);
    const print = mainPrint(settled, paths);
    const direct = await renderDirect(printPlan(plan), sources);
    const differences = print.channels[0]!.map((x, n) => Math.abs(x - direct.get('mix')!.channels[0]![n]!));
    expect(differences.reduce((a, b) => Math.max(a, b))).toBeLessThan(1e-7);
    // Figures of the blend, without rendering, are those of the sum as it is printed, on ramps too.
    const sum = sumPrint(settled, paths);
    const query = makeBlendQuery(
      [...paths].map(([id, audio]) => ({ id, audio })),
      { fromFrame: 0, toFrame: settled.soundFrames },
    );
    const figures = query.allFigures(settled.paths.map(({ gain }) => gain));
    const measured = measure(sum);
    for (const key of [
      'integratedLufs',
      'loudnessRangeLu',
      'maxMomentaryLufs',
      'maxShortTermLufs',
      'truePeakDbtp',
    ] as const)
      expect(figures[key], key).toBeCloseTo(measured[key]!, 6);
  });
});
