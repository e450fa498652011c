import { describe, expect, test } from 'vitest';
import { checkGuards } from '../../../src/blend/guards/guards.ts';
import { fitted } from '../../../src/blend/ledger/ledger.ts';
import { excerptOf } from '../../../src/engine/excerpt.ts';
import { answerOf } from '../../../src/engine/job.ts';
import { bringUpBuses } from '../../../src/engine/jobs/bring-up.ts';
import type { SolveStep } from '../../../src/blend/solve/solution.ts';
import { check } from '../../../src/engine/jobs/check.ts';
import { solve, targetsAsked } from '../../../src/engine/jobs/solve.ts';
import { measure } from '../../../src/measure/measure.ts';
import { gainsOf, sumPaths } from '../../../src/render/mix.ts';
import { mainPrint } from '../../../src/render/print.ts';
import { setBlends } from '../../../src/session/edits/blend-edits.ts';
import { setBlend } from '../../../src/session/edits/edits.ts';
import { feedingSession, LATE, LATE_FRAMES, smallSession, SongInHand, stretches } from '../song-in-hand.ts';

const chain = [{ id: 'glue', processor: 'compressor', settings: { threshold: -30, ratio: 3 } }];

test.each(stretches)('buses come up one at a time, each step as it measures, over %s', async (_, section, frames) => {
  const session = smallSession();
  const workshop = await new SongInHand().workshop(session);
  const order = ['air', 'double'];
  const steps = await answerOf(bringUpBuses(workshop, { order, downDb: Infinity, section }));
  expect(steps.map(({ bus }) => bus)).toEqual([null, 'air', 'double']);
  const { plan, paths } = workshop.mix;
  const without = gainsOf(workshop.song.planned(setBlend(session, 'double', -90)).plan);
  const sum = excerptOf(fitted(sumPaths(paths, without), plan.soundFrames), frames);
  expect(steps[1]!.figures.integratedLufs).toBeCloseTo(measure(sum).integratedLufs!, 6);
  const gain = steps[2]!.figures.integratedLufs! - steps[1]!.figures.integratedLufs!;
  expect(steps[2]!.change!.integratedLufs).toBeCloseTo(gain, 9);
});

describe('blends that are found', () => {
  test.each([
    ['of buses whose paths stay', smallSession({ mixBus: { chain } }), null, null],
    ['of a bus that feeds another, over a section', feedingSession({ mixBus: { chain } }), LATE, LATE_FRAMES],
  ] as const)('%s print what is told of them: rendered anew and measured', async (_, session, section, frames) => {
    const hand = new SongInHand();
    const workshop = await hand.workshop(session, {}, []);
    const before = measure(excerptOf(mainPrint(workshop.mix.plan, workshop.mix.paths), frames));
    const asked = `integratedLufs=${(before.integratedLufs! + 0.3).toFixed(2)}`;
    const parts: number[] = [];
    const prints: SolveStep[] = [];
    const { solution, headline, sentences } = await answerOf(
      solve(workshop, { targets: targetsAsked([asked]), reach: { withinDb: 12, limits: new Map() }, section }),
      { onProgress: (part) => parts.push(part), onRow: (step) => prints.push(step) },
    );
    // Every print is told on the way, the mix as it is first, and the one that was taken among them.
    expect(prints).toHaveLength(solution.prints);
    expect(prints[0]!.values[0]).toBeCloseTo(before.integratedLufs!, 9);
    expect(prints.filter(({ met }) => met[0]).map(({ values }) => values[0])).toContain(solution.targets[0]!.after);
    expect(solution.before.integratedLufs).toBeCloseTo(before.integratedLufs!, 9);
    const { plan, paths } = (await new SongInHand().workshop(setBlends(session, solution.blends))).mix;
    const after = measure(excerptOf(mainPrint(plan, paths), frames));
    expect(solution.after.integratedLufs).toBeCloseTo(after.integratedLufs!, 6);
    expect(solution.targets[0]!.met, sentences.join()).toBe(true);
    expect(headline).toContain('All targets are met');
    expect(sentences.length).toBeGreaterThan(0);
    expect(parts.every((part) => part <= 1)).toBe(true);
  });

  test('a search that is withdrawn stops before its next print', async () => {
    const hand = new SongInHand();
    const workshop = await hand.workshop(feedingSession());
    hand.ran.length = 0;
    const work = new AbortController();
    const reach = { withinDb: 12, limits: new Map() };
    const onProgress = (): void => work.abort(new DOMException('not wanted', 'AbortError'));
    const answer = answerOf(solve(workshop, { targets: targetsAsked(['crestDb=max']), reach, section: null }), {
      onProgress,
      signal: work.signal,
    });
    await expect(answer).rejects.toThrow('not wanted');
    await new Promise((resolve) => setTimeout(resolve, 0));
    expect(hand.ran.length).toBeLessThanOrEqual(1);
  });

  test('targets that nobody can follow are refused with a sentence', () => {
    expect(() => targetsAsked(['crestDb=max', 'crestDb=12'])).toThrow(/crestDb/);
    expect(() => targetsAsked(['brightness=max'])).toThrow(/brightness/);
  });
});

test.each(stretches)('guards judge the print, held against what sounds there, over %s', async (_, section, frames) => {
  const session = smallSession({ mixBus: { chain, trimDb: 12 } });
  const workshop = await new SongInHand().workshop(session);
  const { guards, references } = await answerOf(check(workshop, { section }));
  expect(references).toEqual(['rough', 'mix as received']);
  const printed = measure(excerptOf(mainPrint(workshop.mix.plan, workshop.mix.paths), frames));
  const ceiling = guards.find(({ name }) => name === 'true-peak ceiling')!;
  expect(ceiling.value).toBe(printed.truePeakDbtp);
  expect(ceiling.pass).toBe(printed.truePeakDbtp! <= ceiling.limit);
  const rough = measure(excerptOf(workshop.song.roughOf(session)!, frames));
  const loss = checkGuards(
    workshop.guards.filter(({ guard }) => guard === 'width change'),
    { ...printed, lowsCorrelation: null, groupShares: null },
    [{ name: 'rough', ...rough, lowsCorrelation: null, groupShares: null }],
  )[0]!;
  expect(guards.find(({ name }) => name === 'width change')!.value).toBeGreaterThanOrEqual(loss.value! - 1e-9);
});
