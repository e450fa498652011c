import { describe, expect, test } from 'vitest';
import { fitted, type LedgerRow } from '../../../src/blend/ledger/ledger.ts';
import { excerptOf } from '../../../src/engine/excerpt.ts';
import { answerOf } from '../../../src/engine/job.ts';
import { ledger } from '../../../src/engine/jobs/ledger.ts';
import { processors } from '../../../src/engine/jobs/processors.ts';
import { sides } from '../../../src/engine/jobs/sides.ts';
import { measure } from '../../../src/measure/measure.ts';
import { gainsOf, sumPaths } from '../../../src/render/mix.ts';
import { setProcessorOn } from '../../../src/session/chain/chain-edits.ts';
import { setOn } from '../../../src/session/edits/edits.ts';
import type { Session } from '../../../src/session/schema.ts';
import { feedingSession, smallSession, SongInHand, LATE, LATE_FRAMES, ROUNDING, stretches } from '../song-in-hand.ts';

/** The mix of a session before the mix bus, rendered anew, over the stretch and as long as `frames`. */
const sumOf = async (session: Session, length: number, frames: typeof LATE_FRAMES | null) => {
  const { plan, paths } = (await new SongInHand().workshop(session)).mix;
  return excerptOf(fitted(sumPaths(paths, gainsOf(plan)), length), frames);
};

describe('the ledger', () => {
  test.each(stretches)(
    'tells the mix without each path, over %s, as it measures without it',
    async (_, section, frames) => {
      const session = smallSession();
      const workshop = await new SongInHand().workshop(session);
      const { mix, paths } = await answerOf(ledger(workshop, { section }));
      const length = workshop.mix.plan.soundFrames;
      const whole = measure(await sumOf(session, length, frames));
      expect(mix.integratedLufs).toBeCloseTo(whole.integratedLufs!, ROUNDING);
      for (const { id, without, change } of paths) {
        const measured = measure(await sumOf(setOn(session, id, false), length, frames));
        // Nothing feeds a bus whose group is off: without the group here its bus goes on.
        if (session.groups.some((group) => group.id === id)) continue;
        expect(without.integratedLufs, id).toBeCloseTo(measured.integratedLufs!, ROUNDING);
        expect(change.integratedLufs, id).toBeCloseTo(whole.integratedLufs! - measured.integratedLufs!, ROUNDING);
      }
      expect(paths.reduce((sum, { shareOfLoudness }) => sum + shareOfLoudness!, 0)).toBeCloseTo(1, 9);
    },
  );

  test('what flows into the mix adds up to all of it, and so does what the tracks bring', async () => {
    const workshop = await new SongInHand().workshop(feedingSession());
    const { flow } = await answerOf(ledger(workshop, { section: null }));
    const into = flow.links.filter(({ to }) => to === null).reduce((sum, { share }) => sum + share, 0);
    const brought = flow.nodes.filter(({ kind }) => kind === 'source').reduce((sum, { share }) => sum + share, 0);
    expect(into).toBeCloseTo(1, 9);
    expect(brought).toBeCloseTo(1, 9);
  });

  test('rows are told in order as they are made, and sentences call paths by their names', async () => {
    const workshop = await new SongInHand().workshop(smallSession());
    const rows: LedgerRow[] = [];
    const parts: number[] = [];
    const { paths } = await answerOf(ledger(workshop, { section: null }), {
      onRow: (row) => rows.push(row),
      onProgress: (part) => parts.push(part),
    });
    expect(rows).toEqual(paths);
    expect(rows.map(({ id }) => id)).toEqual(['bass', 'keys', 'double', 'air']);
    expect(parts.at(-1)).toBeGreaterThan(0.99);
  });

  test('a ledger that is withdrawn stops', async () => {
    const workshop = await new SongInHand().workshop(smallSession());
    const work = new AbortController();
    const rows: string[] = [];
    const onRow = ({ id }: LedgerRow): void => {
      rows.push(id);
      work.abort(new DOMException('not wanted', 'AbortError'));
    };
    const answer = answerOf(ledger(workshop, { section: null }), { onRow, signal: work.signal });
    await expect(answer).rejects.toThrow('not wanted');
    expect(rows).toEqual(['bass']);
  });

  test('the print and the rough beside it are measured as they stand in the song', async () => {
    const session = smallSession({ mixBus: { trimDb: -6 }, rough: { file: 'bass.wav', offsetSeconds: 0.5 } });
    const workshop = await new SongInHand().workshop(session);
    const { printed, rough } = await answerOf(sides(workshop, { section: LATE }));
    const sum = measure(await sumOf(session, workshop.mix.plan.soundFrames, LATE_FRAMES));
    // A trim of -6 dB is -6 LU (arithmetic).
    expect(printed.integratedLufs).toBeCloseTo(sum.integratedLufs! - 6, ROUNDING);
    // A sine of -12 dBFS from both sides: 110 Hz lies where K-weighting is near its gain of -0.691 dB below 1 kHz.
    expect(rough!.stereo.correlation).toBeCloseTo(1, 9);
    expect(rough!.samplePeakDbfs).toBeCloseTo(-12, 2);
  });
});

describe('what each processor of a chain does', () => {
  const tilt = { id: 'd', processor: 'eq', settings: { 'band1.on': true, 'band1.gain': 6 } };
  const squeeze = { id: 'c', processor: 'compressor', settings: { threshold: -30, ratio: 4 } };
  const session = smallSession({
    groups: [
      { id: 'bass', name: 'Bass', sends: [{ to: 'double' }] },
      { id: 'keys', name: 'Keys', sends: [{ to: 'double', levelDb: -6 }] },
    ],
    buses: [
      {
        ...{ id: 'double', name: 'Double', blendDb: -6, sends: [{ to: 'air' }] },
        chain: [tilt, { id: 's', split: [squeeze], mix: 60 }, { id: 'off', processor: 'gain', on: false }],
      },
      { id: 'air', name: 'Air', blendDb: -12, chain: [{ processor: 'reverb', settings: { mix: 100, decay: 0.5 } }] },
    ],
  });

  test.each(stretches)('is the mix less the mix without it, over %s', async (_, section, frames) => {
    const hand = new SongInHand();
    const workshop = await hand.workshop(session);
    hand.ran.length = 0;
    const parts: number[] = [];
    const rows = await answerOf(processors(workshop, { path: 'double', section }), {
      onProgress: (part) => parts.push(part),
    });
    expect(rows.map(({ item, processor }) => [item, processor])).toEqual([
      ['d', 'eq'],
      ['s', 'split'],
      ['c', 'compressor'],
    ]);
    const length = workshop.mix.plan.soundFrames;
    const whole = measure(await sumOf(session, length, frames));
    for (const { item, change } of rows) {
      const without = measure(await sumOf(setProcessorOn(session, 'double', item, false), length, frames));
      expect(change.integratedLufs, item).toBeCloseTo(whole.integratedLufs! - without.integratedLufs!, 9);
      expect(change.crestDb, item).toBeCloseTo(whole.crestDb! - without.crestDb!, 9);
    }
    // The bus and what it feeds are rendered without each, the rest is at hand.
    expect(hand.ran).toEqual([
      ['double', 'air'],
      ['double', 'air'],
      ['double', 'air'],
    ]);
    // It tells of a short song in few parts.
    expect(parts.at(-1)).toBeGreaterThan(0.95);
  });
});
