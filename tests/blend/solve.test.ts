import { expect, test } from 'vitest';
import { blendGain } from '../../src/blend/solve/blend-space.ts';
import { solveBlends } from '../../src/blend/solve/solve.ts';
import { USUAL_REACH_DB, type BlendLimits, type Solution } from '../../src/blend/solve/solution.ts';
import type { Audio } from '../../src/audio/audio.ts';
import { requireDistinct, targetFrom } from '../../src/blend/solve/solve-target.ts';
import { solutionSentences } from '../../src/blend/solve/solve-words.ts';
import { slopeOf } from '../../src/measure/details.ts';
import { figureOf } from '../../src/measure/definitions/figure-text.ts';
import { measure } from '../../src/measure/measure.ts';
import { GUARDS, type Guard } from '../../src/session/schema.ts';
import { spaceWith, hostOf, sumOf, type SpaceParts } from '../helpers/blend-spaces.ts';
import { problemFrom } from '../helpers/session-file.ts';

const targetOf = (text: string) => targetFrom(text, '--target');

const unguarded = { guards: GUARDS.map((guard) => ({ guard, limit: 0, on: false })) };
const onlyGuard = (guard: Guard, limit: number): SpaceParts => ({
  guards: GUARDS.map((each) => ({ guard: each, limit: each === guard ? limit : 0, on: each === guard })),
});

/** As far as blends go at all: most of these ask for more than the usual reach. */
const ANYWHERE_DB = 120;

const solved = (
  targets: readonly string[],
  parts: SpaceParts = unguarded,
  { limits = {}, withinDb = ANYWHERE_DB }: { limits?: Record<string, BlendLimits>; withinDb?: number } = {},
): Promise<Solution> =>
  solveBlends(hostOf(spaceWith(parts)), targets.map(targetOf), { withinDb, limits: new Map(Object.entries(limits)) });

const sentences = (targets: readonly string[], solution: Solution): string =>
  solutionSentences(targets.map(targetOf), solution).join('\n');

// Figures of a blend that is known to exist, so each of these can be met by some blend.
const wanted = measure(sumOf([1, 1, blendGain(-4), blendGain(-9), blendGain(-20)]));

test.each([
  ['integratedLufs', 'stereo.sideToMidDb', 'stereo.monoLossLu'],
  ['integratedLufs', 'stereo.correlation'],
  ['crestDb', 'stereo.sideToMidDb'],
  ['plrDb', 'integratedLufs'],
  ['maxShortTermLufs', 'truePeakDbtp'],
] as const)('blends for %s and others measure as asked when the paths are summed', async (...names) => {
  const { met, gains, targets } = await solved(names.map((name) => `${name}=${figureOf(wanted, name)!.toFixed(3)}`));
  const measured = measure(sumOf(gains));
  expect(targets.filter((target) => !target.met)).toEqual([]);
  expect(met).toBe(true);
  // As asked from outside: within 0.05 of each figure; a correlation has smaller steps.
  for (const name of names) {
    const room = name === 'stereo.correlation' ? 0.005 : 0.05;
    expect(Math.abs(figureOf(measured, name)! - figureOf(wanted, name)!)).toBeLessThan(room);
  }
});

test('ranges, bands and slope can be asked for too', async () => {
  const levelAt1k = wanted.bands.find(({ hz }) => hz === 1000)!.levelDb!;
  const slope = slopeOf(wanted.bands)!;
  const { met, gains } = await solved([
    `bands.1000.levelDb>=${(levelAt1k - 0.1).toFixed(2)}`,
    `slopeDbPerOctave=${(slope - 0.2).toFixed(2)}..${(slope + 0.2).toFixed(2)}`,
  ]);
  expect(met).toBe(true);
  const { bands } = measure(sumOf(gains));
  expect(bands.find(({ hz }) => hz === 1000)!.levelDb).toBeGreaterThan(levelAt1k - 0.12);
  expect(Math.abs(slopeOf(bands)! - slope)).toBeLessThan(0.22);
});

test('nothing moves when all is met already', async () => {
  const solution = await solved(['integratedLufs=-60..0']);
  expect(solution.met).toBe(true);
  expect(solution.moves.every(({ movedDb }) => movedDb === 0)).toBe(true);
  expect(sentences(['integratedLufs=-60..0'], solution)).toContain('No blend had to be moved.');
});

test('the same question has the same answer', async () => {
  const question = ['sideToMidDb=-9', 'crestDb=max'];
  expect((await solved(question)).moves).toEqual((await solved(question)).moves);
});

test('as wide as the guard allows ends at the guard, and says so', async () => {
  const solution = await solved(['sideToMidDb=max'], onlyGuard('mono loss', 0.5));
  const guard = solution.guards.find(({ name }) => name === 'mono loss')!;
  expect(guard).toMatchObject({ pass: true, active: true });
  expect(guard.value).toBeGreaterThan(0.47);
  expect(guard.value).toBeLessThanOrEqual(0.5);
  expect(sentences(['sideToMidDb=max'], solution)).toContain('limited by the guard "mono loss"');
  // A tenth of a dB wider is beyond the guard: one path alone makes width here, so nothing else can give way.
  const wider = await solved(
    [`sideToMidDb=${(solution.after.stereo.sideToMidDb! + 0.3).toFixed(2)}`],
    onlyGuard('mono loss', 0.5),
  );
  expect(wider.met).toBe(false);
});

test('the ceiling is kept exactly where it stops the loudness, though peaks are found by a model on the way', async () => {
  const solution = await solved(['integratedLufs=max'], onlyGuard('true-peak ceiling', -1));
  const { truePeakDbtp, integratedLufs } = measure(sumOf(solution.gains));
  expect(truePeakDbtp).toBeLessThanOrEqual(-1);
  expect(truePeakDbtp).toBeGreaterThan(-1.15);
  expect(integratedLufs).toBeGreaterThan(solution.before.integratedLufs! + 0.5);
  expect(solution.guards[0]).toMatchObject({ name: 'true-peak ceiling', active: true, pass: true });
});

test('a target beyond the limits of the blends is not met, comes as near as they let it, and the limits are named', async () => {
  const limits = { drive: { low: -12, high: -8 }, wide: { low: -14, high: -14 }, both: { low: -20, high: -10 } };
  const solution = await solved(['integratedLufs=-5'], unguarded, { limits });
  expect(solution.met).toBe(false);
  expect(solution.blends.get('drive')).toBeCloseTo(-8, 1);
  expect(solution.blends.get('both')).toBeCloseTo(-10, 1);
  expect(solution.blends.get('wide')).toBe(-14);
  const words = sentences(['integratedLufs=-5'], solution);
  expect(words).toContain('Integrated loudness is not met: -5.00 LUFS asked for');
  expect(words).toMatch(/highest blend allowed for drive \(-8\.0 dB\)/);
});

test.each([
  ['integratedLufs=-40', 'integratedLufs'],
  ['rmsDbfs=-60', 'rmsDbfs'],
])('%s, which no blend can reach, comes as near as all buses pulled down do', async (target, name) => {
  const solution = await solved([target]);
  const down = measure(sumOf([1, 1, ...[1, 2, 3].map(() => blendGain(-48))]));
  expect(solution.met).toBe(false);
  expect(figureOf(solution.after, name as 'rmsDbfs')! - figureOf(down, name as 'rmsDbfs')!).toBeLessThan(0.05);
});

test('of targets that cannot be met together the first goes before the others', async () => {
  const first = await solved(['integratedLufs=-12', 'rmsDbfs=-40']);
  expect(first.targets.map(({ met }) => met)).toEqual([true, false]);
  const other = await solved(['rmsDbfs=-15', 'integratedLufs=-40']);
  expect(other.targets.map(({ met }) => met)).toEqual([true, false]);
});

test('a guard that was broken before may get better and never worse, and that is said', async () => {
  const parts = onlyGuard('minimum PLR', 30);
  const solution = await solved(['sideToMidDb=-8'], parts);
  const [guard] = solution.guards;
  expect(guard).toMatchObject({ pass: false, brokenAtStart: true });
  expect(guard!.value).toBeGreaterThanOrEqual(guard!.before!);
  expect(sentences(['sideToMidDb=-8'], solution)).toContain('was broken before any blend was moved');
  // Louder takes peak to loudness down here: what is broken already must not give way further.
  const louder = await solved(['integratedLufs=max'], parts);
  const free = await solved(['integratedLufs=max']);
  expect(louder.guards[0]!.value).toBeGreaterThanOrEqual(louder.guards[0]!.before! - 1e-6);
  expect(louder.after.integratedLufs).toBeLessThan(free.after.integratedLufs! - 1);
});

test('blends stay within 6 dB of where they are unless more is allowed', async () => {
  const near = await solved(['integratedLufs=max'], unguarded, { withinDb: USUAL_REACH_DB });
  expect(near.moves.every(({ movedDb }) => Math.abs(movedDb) <= 6.001)).toBe(true);
  expect(Math.max(...near.moves.map(({ movedDb }) => movedDb))).toBeCloseTo(6, 1);
  expect(sentences(['integratedLufs=max'], near)).toMatch(/\d of 3 blends moved as far as allowed \(6 dB/);
  const atEnd = near.moves.filter(({ movedDb }) => Math.abs(movedDb) >= 5.95).length;
  expect(sentences(['integratedLufs=max'], near)).toContain(`${atEnd} of 3 blends moved as far as allowed`);
  const far = await solved(['integratedLufs=max']);
  expect(far.after.integratedLufs).toBeGreaterThan(near.after.integratedLufs! + 1);
});

test('what is out of reach ends at the nearest point, and no value that is reached lies beyond "max" or "min"', async () => {
  const parts = { guards: [...onlyGuard('tonal shift', 2).guards!] };
  const highest = (await solved(['integratedLufs=max'], parts)).after.integratedLufs!;
  const lowest = (await solved(['integratedLufs=min'], parts)).after.integratedLufs!;
  for (const asked of [-4, -8, highest + 0.3, highest - 0.1, lowest + 0.1, lowest - 0.3, -30]) {
    const { after, met } = await solved([`integratedLufs=${asked.toFixed(3)}`], parts);
    const nearest = Math.min(highest, Math.max(lowest, asked));
    // A search ends within 0.01 LU of its guards, and what was asked is met to 0.01 LU.
    expect(Math.abs(after.integratedLufs! - nearest), `${asked}`).toBeLessThan(0.03);
    expect(met, `${asked}`).toBe(nearest === asked);
  }
});

test('with a chain after the sum, targets and guards are those of the print', async () => {
  const limited = (sum: Audio): Audio => ({
    ...sum,
    channels: sum.channels.map((channel) => channel.map((x) => 0.5 * Math.tanh(3 * x))),
  });
  const before = await hostOf(spaceWith({ trimDb: null }), limited).print(new Map());
  const space = spaceWith({ ...onlyGuard('minimum PLR', before.figures.plrDb! - 1), trimDb: null });
  const louder = before.figures.integratedLufs! + 0.5;
  const target = targetOf(`integratedLufs=${louder.toFixed(2)}`);
  const solution = await solveBlends(hostOf(space, limited), [target], { withinDb: 12, limits: new Map() });
  const print = measure(limited(sumOf(solution.gains)));
  expect(solution.after.integratedLufs).toBeCloseTo(print.integratedLufs!, 6);
  expect(print.integratedLufs).toBeCloseTo(louder, 1);
  expect(solution.guards[0]!.value).toBeCloseTo(print.plrDb!, 6);
  // As loud as the chain lets it: the guard on its peaks holds on the print alone.
  const most = await solveBlends(hostOf(space, limited), [targetOf('integratedLufs=max')], {
    withinDb: 12,
    limits: new Map(),
  });
  expect(most.guards[0]).toMatchObject({ pass: true, brokenAtStart: false });
  expect(most.after.integratedLufs).toBeGreaterThanOrEqual(solution.after.integratedLufs! - 0.02);
});

test('a search with a target that has no end measures no more blends than it may', async () => {
  // What takes the time of a solver is the number of blends that it measures.
  const { queries } = await solved(['integratedLufs=-13', 'sideToMidDb=max', 'crestDb>=9']);
  expect(queries).toBeLessThan(1600);
});

test.each([
  ['loudness=-14', '--target', 'unknown-name'],
  ['integratedLufs=loud', '--target integratedLufs', 'wrong-type'],
  ['integratedLufs=-10..-20', '--target integratedLufs', 'out-of-range'],
  ['correlation=1.5', '--target correlation', 'out-of-range'],
  ['loudnessRangeLu=-2', '--target loudnessRangeLu', 'out-of-range'],
  ['clippedSamples=0', '--target', 'unknown-name'],
  ['crestDb>=max', '--target crestDb', 'wrong-type'],
])('%s is refused at its place', (text, path, code) => {
  expect(problemFrom(() => targetOf(text))).toMatchObject({ path, code });
});

test.each([
  ['widht=-8', 'stereo.sideToMidDb (Width)'],
  ['sideToMid=-8', 'stereo.sideToMidDb (Width)'],
  ['loudness=-14', 'integratedLufs (Integrated loudness)'],
])('the sentence that refuses %s names %s', (text, figure) => {
  const { expected } = problemFrom(() => targetOf(text));
  expect(expected).toContain('did you mean ');
  expect(expected).toContain(figure);
  expect(expected.split(' or ').length).toBeLessThanOrEqual(3);
});

test.each([
  ['lra=5', 'loudnessRangeLu'],
  ['True peak<=-1', 'truePeakDbtp'],
  ['crest=12', 'crestDb'],
  ['Width=-8..-6', 'stereo.sideToMidDb'],
])('%s, as tables call it, is a target of %s', (text, name) => {
  expect(targetOf(text).figure.name).toBe(name);
});

test('a name that is near to none is refused with all that there are', () => {
  expect(problemFrom(() => targetOf('zither=1')).expected).toMatch(
    /integratedLufs, .*stereo\.sideToMidDb.* or bands\.HZ\.levelDb/,
  );
});

test('two targets of one figure are refused, by whichever of its names', () => {
  const both = ['correlation>=0.3', 'stereo.correlation<=0.9'].map(targetOf);
  expect(problemFrom(() => requireDistinct(both, '--target')).found).toContain('stereo.correlation');
});
