import fc from 'fast-check';
import { expect, test } from 'vitest';
import { driftsOf, groupSharesOf, originsOf } from '../../src/blend/guards/balance.ts';
import { GuardedBlend } from '../../src/blend/solve/blend-space.ts';
import { checkGuards, type Guarded, type GuardReference, type GuardResult } from '../../src/blend/guards/guards.ts';
import { octaveShiftsOf } from '../../src/blend/trial/octaves.ts';
import { thirdOctavesBelow } from '../../src/measure/third-octaves.ts';
import { guardSetByName, guardSets, guardsInForce } from '../../src/session/guard-set.ts';
import { GUARDS, type Guard } from '../../src/session/schema.ts';
import { spaceWith } from '../helpers/blend-spaces.ts';
import { problemFrom } from '../helpers/session-file.ts';
import { sessionFrom } from '../helpers/sessions.ts';

const bands = thirdOctavesBelow(48_000).map(({ hz }) => ({ hz, levelDb: -30, sideToMidDb: -10 }));

const mix = (changes: Partial<Guarded> = {}): Guarded => ({
  integratedLufs: -16,
  loudnessRangeLu: 6,
  truePeakDbtp: -2,
  lowsCorrelation: 0.9,
  groupShares: new Map([
    ['drums', 0.5],
    ['voice', 0.5],
  ]),
  stereo: { correlation: 0.7, sideToMidDb: -10, balanceDb: 0, monoLossLu: -0.5 },
  bands,
  ...changes,
});
const rough: GuardReference = { ...mix(), name: 'rough', groupShares: null };
const received: GuardReference = { ...mix(), name: 'mix as received' };

const judge = (
  guard: Guard,
  limit: number,
  changes: Partial<Guarded>,
  references: readonly GuardReference[] = [rough, received],
): GuardResult => checkGuards([{ guard, limit, on: true, source: 'test' }], mix(changes), references)[0]!;

const stereo = mix().stereo;

test.each<[Guard, number, Partial<Guarded>, number, boolean]>([
  ['true-peak ceiling', -1, { truePeakDbtp: -0.5 }, -0.5, false],
  ['true-peak ceiling', -1, { truePeakDbtp: -1 }, -1, true],
  ['LRA loss', 2, { loudnessRangeLu: 3.5 }, 2.5, false],
  ['LRA loss', 2, { loudnessRangeLu: 9 }, -3, true],
  ['minimum PLR', 8, { truePeakDbtp: -1, integratedLufs: -8 }, 7, false],
  ['mono loss', 1, { stereo: { ...stereo, monoLossLu: -2 } }, 1.5, false],
  ['lows correlation', 0.5, { lowsCorrelation: 0.4 }, 0.4, false],
  ['lows correlation', 0.5, { lowsCorrelation: 0.6 }, 0.6, true],
  ['width change', 3, { stereo: { ...stereo, sideToMidDb: -14 } }, 4, false],
  ['width change', 3, { stereo: { ...stereo, sideToMidDb: -7.5 } }, 2.5, true],
])('%s at a limit of %f', (guard, limit, changes, value, pass) => {
  const result = judge(guard, limit, changes);
  expect(result.value).toBeCloseTo(value, 9);
  expect(result.pass).toBe(pass);
  expect(result.sentence).toContain(pass ? 'within the limit' : 'outside the limit');
});

test('of two references the worse one counts, and is named', () => {
  const dense = { ...received, loudnessRangeLu: 4 };
  expect(judge('LRA loss', 2, { loudnessRangeLu: 3.5 }, [dense, rough])).toMatchObject({
    value: 2.5,
    pass: false,
    against: 'rough',
  });
});

test('tone is compared at equal loudness: level alone shifts nothing, one octave is found and named', () => {
  const louder = bands.map((band) => ({ ...band, levelDb: -24 }));
  expect(judge('tonal shift', 3, { integratedLufs: -10, bands: louder }).value).toBeCloseTo(0, 9);
  const dull = bands.map((band) => ({ ...band, levelDb: Math.abs(Math.log2(band.hz / 4000)) < 0.5 ? -34 : -30 }));
  const shifts = octaveShiftsOf(mix(), mix({ bands: dull }))!;
  const others = shifts.filter(({ hz }) => Math.abs(Math.log2(hz / 4000)) > 0.1).map(({ db }) => db);
  // The rest is louder by the loudness that the dull octave lost: the octave lies 4 dB below it.
  for (const db of others) expect(db).toBeCloseTo(others[0]!, 9);
  expect(others[0]).toBeGreaterThan(0);
  const result = judge('tonal shift', 3, { bands: dull });
  expect(result.value).toBeCloseTo(4 - others[0]!, 9);
  expect(result.sentence).toMatch(/-3\.\d dB in the octave of 4\.0 kHz/);
});

test('an octave that nobody hears does not count, and one that was empty has not shifted without end', () => {
  const faint = bands.map((band) => ({ ...band, levelDb: band.hz > 12_000 ? -90 : -30 }));
  const fainter = bands.map((band) => ({ ...band, levelDb: band.hz > 12_000 ? -110 : -30 }));
  const shifts = octaveShiftsOf(mix({ bands: faint }), mix({ bands: fainter }))!;
  for (const { db } of shifts) expect(Math.abs(db)).toBeLessThan(1e-5);
  const empty = bands.map((band) => ({ ...band, levelDb: band.hz > 12_000 ? null : -30 }));
  const filled = octaveShiftsOf(mix({ bands: empty }), mix())!;
  // 40 dB, less the loudness that filling it added.
  expect(filled.at(-1)!.db).toBeCloseTo(40 + filled[0]!.db, 9);
});

test('what cannot be judged passes, and the sentence says that it was not judged', () => {
  const result = judge('width change', 3, { stereo: { ...stereo, sideToMidDb: null } });
  expect(result).toMatchObject({ value: null, pass: true });
  expect(result.sentence).toBe('Width change cannot be judged: the mix or what it is held against is mono.');
  expect(judge('balance drift', 2, {}, [rough]).value).toBeNull();
});

test('a guard that is off says nothing', () => {
  expect(checkGuards([{ guard: 'tonal shift', limit: 0, on: false, source: '' }], mix(), [rough])).toEqual([]);
});

test('balance: a bus is shared out over its senders by the power that each sends, through other buses too', () => {
  const session = sessionFrom({
    groups: [
      { id: 'band', name: 'band', faderDb: -6, sends: [{ to: 'echo', levelDb: 0, tap: 'pre-fader' }] },
      { id: 'voice', name: 'voice', faderDb: -10, sends: [{ to: 'echo', levelDb: 0 }] },
    ],
    buses: [
      { id: 'plate', name: 'plate' },
      { id: 'echo', name: 'echo', sends: [{ to: 'plate' }] },
      { id: 'idle', name: 'idle' },
    ],
  });
  const origins = originsOf(
    session,
    new Map([
      ['band', -20],
      ['voice', -20],
      ['echo', -25],
    ]),
  );
  // The voice is as loud as the band but sent behind a fader of -10 dB: a tenth of its power.
  expect(origins.get('plate')!.get('band')).toBeCloseTo(10 / 11, 12);
  expect(origins.get('echo')!.get('voice')).toBeCloseTo(1 / 11, 12);
  expect(origins.get('idle')!.size).toBe(0);
  const shares = groupSharesOf(['band', 'voice', 'plate'], [0.4, 0.5, 0.1], origins)!;
  expect(shares.get('band')! + shares.get('voice')!).toBeCloseTo(1, 12);
});

test('drift is what a share gained, in LU; a group that is gone drifts without measure', () => {
  const before = new Map([
    ['a', 0.5],
    ['b', 0.5],
    ['faint', 0.0005],
  ]);
  const drifts = driftsOf(before, new Map([['a', 0.25]]));
  expect(drifts).toEqual([
    { group: 'a', lu: 10 * Math.log10(0.5) },
    { group: 'b', lu: -60 },
  ]);
});

test('buses that are shut leave the mix as received: no guard against it sees a change', () => {
  const space = spaceWith();
  const results = checkGuards(space.guards, new GuardedBlend(space, [1, 1, 0, 0, 0]), space.references);
  const changes = results.filter(({ against }) => against !== null);
  expect(changes).toHaveLength(5);
  for (const { value } of changes) expect(value).toBeCloseTo(0, 9);
});

test('all faders moved together drift no balance, one alone does, by what its share gains', () => {
  const space = spaceWith();
  const drift = (gains: readonly number[]): number =>
    checkGuards(space.guards, new GuardedBlend(space, gains), space.references).find(
      ({ name }) => name === 'balance drift',
    )!.value!;
  fc.assert(
    fc.property(fc.double({ min: 0.1, max: 4, noNaN: true }), (gain) => {
      expect(drift([gain, gain, 0, 0, 0])).toBeLessThan(1e-6);
    }),
    { numRuns: 10 },
  );
  expect(drift([2, 1, 0, 0, 0])).toBeGreaterThan(1);
});

test('the trim counts for the ceiling; before a mix bus chain it is not judged', () => {
  const ceiling = (trimDb: number | null): GuardResult => {
    const space = spaceWith({ trimDb });
    return checkGuards(space.guards, new GuardedBlend(space, space.gains), space.references)[0]!;
  };
  expect(ceiling(-6).value).toBeCloseTo(ceiling(0).value! - 6, 9);
  expect(ceiling(null)).toMatchObject({ value: null, pass: true });
  expect(ceiling(null).sentence).toContain('cannot be judged: the mix bus chain changes the peaks');
});

test('every set has a limit with a source for every guard, and the default one comes first', () => {
  expect(guardSets.map(({ name }) => name)).toEqual(['default', 'gentle', 'loud master']);
  for (const { guards } of guardSets) {
    expect(guards.map(({ guard }) => guard).sort()).toEqual([...GUARDS].sort());
    expect(guards.every(({ source }) => source.includes('common practice'))).toBe(true);
  }
});

test('limits of the session stand before those of the set', () => {
  const inForce = guardsInForce([{ guard: 'tonal shift', limit: 9, on: false }], guardSetByName('Gentle', '--guards'));
  expect(inForce.map(({ guard }) => guard)).toEqual([...GUARDS]);
  expect(inForce.find(({ guard }) => guard === 'tonal shift')).toMatchObject({ limit: 9, on: false });
  expect(inForce.find(({ guard }) => guard === 'balance drift')!.limit).toBe(1);
});

test('a set that is not there is named beside those that are', () => {
  expect(problemFrom(() => guardSetByName('harsh', '--guards'))).toMatchObject({
    path: '--guards',
    expected: '"default", "gentle" or "loud master"',
    found: '"harsh"',
  });
});
