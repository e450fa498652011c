import { expect, test } from 'vitest';
import { fitted } from '../../src/blend/ledger/ledger.ts';
import { answerOf } from '../../src/engine/job.ts';
import { excerptOf } from '../../src/engine/excerpt.ts';
import type { Workshop } from '../../src/engine/workshop.ts';
import { onBothSides } from '../../src/audio/audio.ts';
import { finished } from '../../src/audio/steps.ts';
import { measure } from '../../src/measure/measure.ts';
import { gainsOf, sumPaths } from '../../src/render/mix.ts';
import { mainPrint } from '../../src/render/print.ts';
import { setBlend, setOn } from '../../src/session/edits/edits.ts';
import { feedingSession, LATE_FRAMES, ROUNDING, SECONDS, smallSession, SongInHand, stretches } from './song-in-hand.ts';

/** The sum of the paths before the mix bus, over the stretch. */
const sumOver = ({ mix: { plan, paths } }: Workshop, frames: typeof LATE_FRAMES | null) =>
  excerptOf(fitted(sumPaths(paths, gainsOf(plan)), plan.soundFrames), frames);

test.each(stretches)(
  'the blend space reads the blend over %s as a meter reads the sum of its paths',
  async (_, section, frames) => {
    const workshop = await new SongInHand().workshop(smallSession());
    expect(workshop.stretch(section)).toEqual(frames);
    const { query, gains } = await answerOf(workshop.space(frames));
    const read = query.allFigures(gains);
    const measured = measure(sumOver(workshop, frames));
    for (const key of ['integratedLufs', 'truePeakDbtp', 'crestDb', 'rmsDbfs'] as const)
      expect(read[key], key).toBeCloseTo(measured[key]!, ROUNDING);
    expect(read.stereo.sideToMidDb).toBeCloseTo(measured.stereo.sideToMidDb!, ROUNDING);
  },
);

test.each(stretches)('blends are held against the rough and the tracks as received, over %s', async (_, __, frames) => {
  const hand = new SongInHand();
  const session = smallSession({ rough: { file: 'rough.wav', offsetSeconds: 0.5 } });
  const workshop = await hand.workshop(session);
  const [rough, received] = await answerOf(workshop.referencesOver(frames));
  const moved = hand.song.roughOf(session)!;
  expect(rough!.name).toBe('rough');
  expect(rough!.integratedLufs).toBe(measure(excerptOf(moved, frames)).integratedLufs);
  expect(received!.name).toBe('mix as received');
  const [low, keys] = [hand.sounds.get('bass.wav')!, hand.sounds.get('keys.wav')!];
  // A track in the middle loses nothing: it comes out of both sides at its own level.
  const sum = sumPaths(new Map([['bass', onBothSides(low)], ['keys', keys]]), new Map([['bass', 1], ['keys', 1]])); // oxfmt-ignore
  expect(received!.integratedLufs).toBeCloseTo(measure(excerptOf(sum, frames)).integratedLufs!, ROUNDING);
  expect([...received!.groupShares!.values()].reduce((a, b) => a + b, 0)).toBeCloseTo(1, 9);
});

test('what blends are held against is made once for each stretch', async () => {
  const hand = new SongInHand();
  const workshop = await hand.workshop(smallSession());
  const renders = hand.ran.length;
  await answerOf(workshop.space(LATE_FRAMES));
  await answerOf(workshop.space(LATE_FRAMES));
  expect(hand.ran).toHaveLength(renders + 1);
  await answerOf(workshop.space(null));
  expect(hand.ran).toHaveLength(renders + 2);
});

test('where neither sounds in a stretch, blends are held against nothing', async () => {
  const session = smallSession({ rough: { file: 'rough.wav', offsetSeconds: -1 } });
  const workshop = await new SongInHand().workshop(session);
  expect(await answerOf(workshop.referencesOver({ from: SECONDS * 48_000, to: (SECONDS + 0.2) * 48_000 }))).toEqual([]);
});

test('what is known of the whole song is taken; of a section it says nothing', async () => {
  const hand = new SongInHand();
  const session = smallSession();
  const first = await hand.workshop(session);
  const { query, references } = await answerOf(first.space(null));
  const workshop = await hand.workshop(session, { query, references });
  const whole = await answerOf(workshop.space(null));
  expect(whole.query).toBe(query);
  expect(whole.references).toBe(references);
  const late = await answerOf(workshop.space(LATE_FRAMES));
  expect(late.query.frames).toBe(LATE_FRAMES.to - LATE_FRAMES.from);
  expect(late.references).not.toBe(references);
});

test.each([
  ['whose paths stay', smallSession(), 'double', 0],
  ['that feeds another bus', feedingSession(), 'double', 1],
])(
  'the blend space after a blend moved, of a bus %s, is that of the mix rendered anew',
  async (_, session, bus, renders) => {
    const hand = new SongInHand();
    const workshop = await hand.workshop(session);
    const before = await answerOf(workshop.space(null));
    const done = hand.ran.length;
    const mix = await answerOf(hand.song.renderedAfter(setBlend(session, bus, -2), workshop.mix));
    const after = await answerOf(workshop.spaceOf(mix, null, before));
    expect(hand.ran.length - done).toBe(renders);
    const anew = await new SongInHand().workshop(mix.session);
    const fresh = await answerOf(anew.space(null));
    const [figures, expected] = [after, fresh].map(({ query, gains }) => query.allFigures(gains));
    expect(figures!.integratedLufs).toBeCloseTo(expected!.integratedLufs!, 9);
    expect(figures!.truePeakDbtp).toBeCloseTo(expected!.truePeakDbtp!, 9);
    expect(Math.abs(figures!.integratedLufs! - before.query.allFigures(before.gains).integratedLufs!)).toBeGreaterThan(
      0.1,
    );
  },
);

test('a song that ends sooner without a bus is measured over its own length', async () => {
  const hand = new SongInHand();
  const session = smallSession();
  const workshop = await hand.workshop(session);
  const before = await answerOf(workshop.space(null));
  const mix = await answerOf(hand.song.renderedAfter(setOn(session, 'air', false), workshop.mix));
  const after = await answerOf(workshop.spaceOf(mix, null, before));
  expect(after.query.frames).toBe(mix.plan.soundFrames);
  expect(after.query.frames).toBeLessThan(before.query.frames);
});

test.each(stretches)('the print over %s is that of the mix bus, measured', async (_, __, frames) => {
  const chain = [{ id: 'glue', processor: 'compressor', settings: { threshold: -30, ratio: 4 } }];
  const workshop = await new SongInHand().workshop(smallSession({ mixBus: { trimDb: -3, chain } }));
  const space = await answerOf(workshop.space(frames));
  expect(space.trimDb).toBeNull();
  const { figures, guarded } = finished(workshop.printedSteps(space));
  const { plan, paths } = workshop.mix;
  expect(figures).toEqual(measure(excerptOf(mainPrint(plan, paths), frames)));
  expect(guarded.integratedLufs).toBe(figures.integratedLufs);
  // Its balance is that of the paths: shares of all groups with what their buses add.
  expect([...guarded.groupShares!.values()].reduce((a, b) => a + b, 0)).toBeCloseTo(1, 9);
});
