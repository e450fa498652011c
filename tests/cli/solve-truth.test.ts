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

/** What `solve` answers; what it says of guards and exit code is held to `check` of the session that it wrote. */
const solvedTruly = async (session: string, target: string, out: string): Promise<Solved> => {
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
  return answer;
};

const printed = async (session: string, folder: string): Promise<Figures> => {
  const { files } = (await runJson('print', session, '--out', place.path(folder), '--bits', '32f')) as {
    files: readonly Figures[];
  };
  return files[0]!;
};

test.each(Array.from({ length: casesOf(1, 20) }, (_, n) => seedOf(n + 1)))('session %i', async (seed) => {
  const next = seeded(seed);
  const session = writeSession(place, `given-${seed}.json`, randomSession(next));
  const out = place.path(`found-${seed}.json`);
  const answer = await solvedTruly(session, targetFor(next), out);

  const { integratedLufs, crestDb, stereo } = await printed(out, `print-${seed}`);
  // Written as 32 bit floats, measured from the file.
  expect(answer.after.integratedLufs).toBeCloseTo(integratedLufs!, 5);
  expect(answer.after.crestDb).toBeCloseTo(crestDb!, 5);
  expect(answer.after.stereo.sideToMidDb).toBeCloseTo(stereo.sideToMidDb!, 5);
});

test.each(Array.from({ length: casesOf(1, 20) }, (_, n) => seedOf(n + 101)))(
  'session %i: what "max" reaches can be asked for, and what lies beyond ends there',
  async (seed) => {
    const next = seeded(seed);
    const session = writeSession(place, `reach-${seed}.json`, randomSession(next));
    const out = place.path(`reached-${seed}.json`);
    const loudnessOf = ({ after }: Solved): number => after.integratedLufs!;
    const most = loudnessOf(await solvedTruly(session, 'integratedLufs=max', out));
    const before = (await printed(session, `before-${seed}`)).integratedLufs!;
    expect(most).toBeGreaterThanOrEqual(before - 1e-6);
    if (most > before + 0.05) {
      const wanted = (before + (0.2 + 0.75 * next()) * (most - before)).toFixed(2);
      const inside = await solvedTruly(session, `integratedLufs=${wanted}`, out);
      expect(inside.met).toBe(true);
      // What the solver calls met.
      expect(Math.abs(loudnessOf(inside) - Number(wanted))).toBeLessThan(0.0101);
    }
    if (isSoaking) {
      const least = loudnessOf(await solvedTruly(session, 'integratedLufs=min', out));
      for (const part of [0.1, 0.5, 0.9]) {
        const wanted = (least + part * (most - least)).toFixed(2);
        expect((await solvedTruly(session, `integratedLufs=${wanted}`, out)).met, wanted).toBe(true);
      }
    }
    const beyond = await solvedTruly(session, `integratedLufs=${(most + 2).toFixed(2)}`, out);
    expect(beyond.met).toBe(false);
    // Steps of the search end at 0.005 LU; two searches may end that far apart on either side.
    expect(Math.abs(loudnessOf(beyond) - most)).toBeLessThan(0.02);
  },
);
