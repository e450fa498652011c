import { expect, test } from 'vitest';
import type { GuardResult } from '../../src/blend/guards/guards.ts';
import type { SolvedGuard, TargetResult } from '../../src/blend/solve/solution.ts';
import type { Figures } from '../../src/measure/figures.ts';
import { run, runJson, Workplace } from './command.ts';
import { writeSession, writeSounds } from './song.ts';
import { seeded } from '../helpers/signals.ts';
import { casesOf, isSoaking, seedOf } from '../helpers/soak.ts';

/**
 * What `solve` says, held to what `check` and `bounce` say of the session that it wrote: random sessions in which buses
 * feed others from behind their blends, some with a chain after the sum.
 */

const place = new Workplace();
writeSounds(place);

interface Solved {
  readonly met: boolean;
  readonly after: Figures;
  readonly targets: readonly TargetResult[];
  readonly guards: readonly SolvedGuard[];
  readonly moves: readonly { readonly movedDb: number }[];
}

const CHAINS = [
  [{ processor: 'gain', settings: { gain: 2 } }],
  [{ processor: 'saturator', settings: { drive: 12 } }],
  [{ processor: 'compressor', settings: { threshold: -30, ratio: 4 } }],
  [{ processor: 'eq', settings: { 'band3.on': true, 'band3.frequency': 900, 'band3.gain': 5 } }],
];
const MIX_BUSES = [
  { trimDb: 0, chain: [] },
  { trimDb: -4, chain: [] },
  { trimDb: -2, chain: [{ processor: 'limiter', settings: { ceiling: -6 } }] },
];

const randomSession = (next: () => number): Record<string, unknown> => {
  const pick = <T>(all: readonly T[]): T => all[Math.floor(next() * all.length)]!;
  const blend = (): number => Number((-22 + 18 * next()).toFixed(1));
  return {
    groups: [
      { id: 'bass', name: 'Bass', sends: [{ to: 'first' }] },
      { id: 'keys', name: 'Keys', sends: [{ to: pick(['first', 'second']) }, { to: 'third', levelDb: -6 }] },
    ],
    buses: [
      { id: 'first', name: 'First', blendDb: blend(), chain: pick(CHAINS), sends: [{ to: 'second', levelDb: -3 }] },
      { id: 'second', name: 'Second', blendDb: blend(), chain: pick(CHAINS), sends: [{ to: pick(['third']) }] },
      { id: 'third', name: 'Third', blendDb: blend(), chain: pick(CHAINS) },
    ],
    mixBus: pick(MIX_BUSES),
  };
};

const targetFor = (next: () => number): string => {
  const targets = ['integratedLufs=max', 'integratedLufs=-19', 'crestDb>=14', 'sideToMidDb=max', 'truePeakDbtp<=-3'];
  return targets[Math.floor(next() * targets.length)]!;
};

const checked = async (session: string): Promise<readonly GuardResult[]> => {
  const { out } = await run('check', session, '--json');
  return (JSON.parse(out) as { guards: readonly GuardResult[] }).guards;
};

test.each(Array.from({ length: casesOf(2, 20) }, (_, n) => seedOf(n + 1)))('session %i', async (seed) => {
  const next = seeded(seed);
  const session = writeSession(place, `given-${seed}.json`, randomSession(next));
  const target = targetFor(next);
  const out = place.path(`found-${seed}.json`);
  const solved = await run('solve', session, '--target', target, '--out', out, '--json');
  const answer = JSON.parse(solved.out) as Solved;
  expect([solved.err, solved.code]).toEqual(['', answer.met ? 0 : 1]);

  const given = await checked(session);
  const found = await checked(out);
  expect(answer.guards.map(({ name, pass }) => [name, pass])).toEqual(found.map(({ name, pass }) => [name, pass]));
  answer.guards.forEach(({ name, bound, value, before, brokenAtStart }, n) => {
    // The same samples are measured the same way, but the balance: its products are summed up in another order.
    if (value !== null) expect(value, name).toBeCloseTo(found[n]!.value!, 6);
    expect(brokenAtStart, name).toBe(!given[n]!.pass);
    if (before !== null) expect(before, name).toBeCloseTo(given[n]!.value!, 6);
    if (brokenAtStart && bound === 'at most')
      expect(found[n]!.value!, name).toBeLessThanOrEqual(given[n]!.value! + 1e-5);
    if (brokenAtStart && bound === 'at least')
      expect(found[n]!.value!, name).toBeGreaterThanOrEqual(given[n]!.value! - 1e-5);
    if (!brokenAtStart) expect(found[n]!.pass, name).toBe(true);
  });
  expect(answer.moves.every(({ movedDb }) => Math.abs(movedDb) <= 6.001)).toBe(true);

  const prints = (await runJson('print', out, '--out', place.path(`print-${seed}`), '--bits', '32f')) as {
    files: readonly Figures[];
  };
  const { integratedLufs, crestDb, stereo } = prints.files[0]!;
  // Written as 32 bit floats, measured from the file.
  expect(answer.after.integratedLufs).toBeCloseTo(integratedLufs!, 5);
  expect(answer.after.crestDb).toBeCloseTo(crestDb!, 5);
  expect(answer.after.stereo.sideToMidDb).toBeCloseTo(stereo.sideToMidDb!, 5);
});

const valueFor = async (session: string, target: string): Promise<TargetResult> =>
  (JSON.parse((await run('solve', session, '--target', target, '--json')).out) as Solved).targets[0]!;

// What "min" and "max" reach is in reach: a value between them is met. Only in `npm run soak`: it prints each session many times.
test.runIf(isSoaking).each(Array.from({ length: 20 }, (_, n) => seedOf(n + 1)))(
  'session %i: what lies within reach is met',
  async (seed) => {
    const session = writeSession(place, `reach-${seed}.json`, randomSession(seeded(seed)));
    const [least, most] = [
      await valueFor(session, 'integratedLufs=min'),
      await valueFor(session, 'integratedLufs=max'),
    ];
    for (const part of [0.1, 0.5, 0.9]) {
      const wanted = (least.after! + part * (most.after! - least.after!)).toFixed(2);
      expect(await valueFor(session, `integratedLufs=${wanted}`), wanted).toMatchObject({ met: true });
    }
  },
);
