import { describe, expect, test } from 'vitest';
import type { SweepRow } from '../../../src/blend/sweep/sweep.ts';
import { excerptOf } from '../../../src/engine/excerpt.ts';
import { answerOf, type Following } from '../../../src/engine/job.ts';
import { sweep, type SweepAnswer, type SweepTask } from '../../../src/engine/jobs/sweep.ts';
import { measure } from '../../../src/measure/measure.ts';
import { gainsOf, sumPaths } from '../../../src/render/mix.ts';
import { setBlend, setOn } from '../../../src/session/edits/edits.ts';
import type { Session } from '../../../src/session/schema.ts';
import { fitted } from '../../../src/blend/ledger/ledger.ts';
import { feedingSession, smallSession, SongInHand, LATE_FRAMES, ROUNDING, stretches } from '../song-in-hand.ts';

const AXIS = { bus: 'double', from: -18, to: 0, step: 6 };
const SECOND = { bus: 'air', from: -12, to: 0, step: 6 };
const run = async (
  session: Session,
  task: Partial<SweepTask> & Pick<SweepTask, 'axis'>,
  following: Following<SweepRow> = {},
): Promise<{ readonly answer: SweepAnswer; readonly hand: SongInHand }> => {
  const hand = new SongInHand();
  const workshop = await hand.workshop(session);
  hand.ran.length = hand.frames.length = 0;
  return { answer: await answerOf(sweep(workshop, { section: null, ...task }), following), hand };
};

/** The loudness and the true peak of a session's mix before the mix bus, rendered anew, summed and measured. */
const measured = async (session: Session, frames: typeof LATE_FRAMES | null) => {
  const { plan, paths } = (await new SongInHand().workshop(session)).mix;
  return measure(excerptOf(fitted(sumPaths(paths, gainsOf(plan)), plan.soundFrames), frames));
};

const expectRow = async (row: SweepRow, session: Session, frames: typeof LATE_FRAMES | null): Promise<void> => {
  const { integratedLufs, truePeakDbtp, stereo } = await measured(session, frames);
  expect(row.integratedLufs).toBeCloseTo(integratedLufs!, ROUNDING);
  expect(row.truePeakDbtp).toBeCloseTo(truePeakDbtp!, ROUNDING);
  expect(row.stereo.sideToMidDb).toBeCloseTo(stereo.sideToMidDb!, ROUNDING);
};

describe('every row is the mix with that blend, rendered anew and measured', () => {
  test.each(stretches)(
    'of a bus whose paths stay, over %s: nothing is rendered but the tracks',
    async (_, section, frames) => {
      const session = smallSession();
      const { answer, hand } = await run(session, { axis: AXIS, section });
      expect(answer.rows.map(({ blendDb }) => blendDb)).toEqual([-18, -12, -6, 0]);
      for (const at of [0, 3])
        await expectRow(answer.rows[at]!, setBlend(session, 'double', AXIS.from + 6 * at), frames);
      expect(answer.marks).not.toBeNull();
      expect(hand.ran).toEqual([['bass', 'keys']]);
    },
  );

  test.each(stretches)('of a bus that feeds a reverb from behind its blend, over %s', async (_, section, frames) => {
    const session = feedingSession();
    const { answer, hand } = await run(session, { axis: AXIS, section });
    for (const at of [0, 1, 3])
      await expectRow(answer.rows[at]!, setBlend(session, 'double', AXIS.from + 6 * at), frames);
    expect(answer).toMatchObject({ rendersEach: true, marks: null });
    // The blend at which it stands is at hand; of the others the reverb alone is rendered, no further than the section.
    expect(hand.ran.slice(1)).toEqual(section ? [['air'], ['air'], ['air']] : [['air'], ['air'], ['air']]);
    if (section) expect(new Set(hand.frames.slice(1))).toEqual(new Set([LATE_FRAMES.to]));
  });

  test('of a grid whose one bus feeds the other: a render for each of its blends, and every cell in its place', async () => {
    const session = feedingSession();
    const { answer, hand } = await run(session, { axis: SECOND, second: AXIS });
    expect(answer.rows.map(({ blendDb, secondBlendDb }) => [blendDb, secondBlendDb])).toEqual(
      [-12, -6, 0].flatMap((blend) => [-18, -12, -6, 0].map((second) => [blend, second])),
    );
    expect(hand.ran).toHaveLength(1 + 3);
    await expectRow(answer.rows[7]!, setBlend(setBlend(session, 'air', -6), 'double', 0), null);
    await expectRow(answer.rows[10]!, setBlend(setBlend(session, 'air', 0), 'double', -6), null);
  });

  test('of a bus that is off, as if it were on; compared with the mix without it', async () => {
    const session = setOn(smallSession(), 'double', false);
    const { answer } = await run(session, { axis: AXIS });
    expect(answer.off).toEqual(['double']);
    await expectRow(answer.rows[3]!, setBlend(setOn(session, 'double', true), 'double', 0), null);
    expect(answer.reference.integratedLufs).toBeCloseTo((await measured(session, null)).integratedLufs!, ROUNDING);
    const { integratedLufs } = answer.rows[3]!;
    expect(answer.rows[3]!.matchGainDb).toBeCloseTo(answer.reference.integratedLufs! - integratedLufs!, 9);
  });
});

test('rows are told as soon as they are there, each once, and the part done grows to the whole', async () => {
  const told: (SweepRow | number)[] = [];
  const { answer } = await run(
    feedingSession(),
    { axis: AXIS },
    { onRow: (row) => told.push(row), onProgress: (part) => told.push(part) },
  );
  const rows = told.filter((each) => typeof each !== 'number');
  expect(rows.toSorted((a, b) => a.blendDb - b.blendDb)).toEqual(answer.rows);
  const parts = told.filter((each) => typeof each === 'number');
  expect(parts.at(-1)).toBeCloseTo(1, 9);
  expect(told.indexOf(rows[0]!)).toBeLessThan(told.indexOf(parts.at(-1)!) - 1);
});

test('a sweep that is withdrawn between two renders stops there', async () => {
  const work = new AbortController();
  const hand = new SongInHand();
  const workshop = await hand.workshop(feedingSession());
  hand.ran.length = 0;
  const onRow = (): void => work.abort(new DOMException('not wanted', 'AbortError'));
  const answer = answerOf(sweep(workshop, { axis: AXIS, section: null }), { onRow, signal: work.signal });
  await expect(answer).rejects.toThrow('not wanted');
  expect(hand.ran.length).toBeLessThanOrEqual(2);
});

test('a section behind the end of the song is refused with one sentence', async () => {
  await expect(run(smallSession(), { axis: AXIS, section: { startSeconds: 60, endSeconds: 70 } })).rejects.toThrow(
    'That section begins after the end of the song: choose another one.',
  );
});
