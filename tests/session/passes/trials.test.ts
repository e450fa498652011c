import { expect, it } from 'vitest';
import { sessionText } from '../../../src/session/read/serialize.ts';
import { parseSession } from '../../../src/session/read/parse.ts';
import { logTrial, type TrialPlan } from '../../../src/session/passes/trials.ts';
import { problemFrom, smallSession } from '../../helpers/session-file.ts';

const plan: TrialPlan = { kind: 'abx', a: 'rough', b: 'pass:first', section: 'Verse', planned: 4, seed: 7 };

it('a trial is logged with its plan and its answers, each under an id of its own, and survives a file', () => {
  const once = logTrial(smallSession(), plan, ['right', 'wrong', 'right', 'right']);
  const twice = logTrial(once, { ...plan, kind: 'preference' }, ['a']);
  expect(twice.trials.map(({ id, answers }) => [id, answers])).toEqual([
    ['trial', ['right', 'wrong', 'right', 'right']],
    ['trial-2', ['a']],
  ]);
  expect(parseSession(sessionText(twice), 'song.json')).toEqual(twice);
});

it('answers of the other kind, and more than were planned, are refused', () => {
  expect(problemFrom(() => logTrial(smallSession(), plan, ['a']))).toMatchObject({ path: 'trials[0].answers[0]' });
  const five = Array.from({ length: 5 }, () => 'right' as const);
  expect(problemFrom(() => logTrial(smallSession(), plan, five))).toMatchObject({ path: 'trials[0].answers' });
});
