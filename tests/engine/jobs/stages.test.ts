import { expect, test } from 'vitest';
import { answerOf } from '../../../src/engine/job.ts';
import { excerptOf } from '../../../src/engine/excerpt.ts';
import { fitPreset } from '../../../src/engine/jobs/fit-preset.ts';
import { matchMakeUp } from '../../../src/engine/jobs/make-up.ts';
import { reduction } from '../../../src/engine/jobs/reduction.ts';
import { stageSpectrum } from '../../../src/engine/jobs/stage-spectrum.ts';
import { Workshop } from '../../../src/engine/workshop.ts';
import { heardLoudness } from '../../../src/measure/heard.ts';
import { MIX, setChain } from '../../../src/session/chain/chain-edits.ts';
import { presetByName } from '../../../src/session/presets/presets.ts';
import { LATE, LATE_FRAMES, smallSession, SongInHand } from '../song-in-hand.ts';

/** The double compresses hard, behind a filter, with a make-up. */
const squeezed = (makeUp: number) =>
  smallSession({
    buses: [
      {
        ...{ id: 'double', name: 'Double', blendDb: -6 },
        chain: [
          { id: 'e', processor: 'eq', settings: { 'band1.on': true, 'band1.shape': 'low cut', 'band1.frequency': 60 } },
          { id: 'c', processor: 'compressor', settings: { threshold: -40, ratio: 8, makeUp } },
        ],
      },
      { id: 'air', name: 'Air', blendDb: -12 },
    ],
  });

test('a make-up that is matched makes the chain as loud as what comes in', async () => {
  const session = squeezed(0);
  const workshop = await new SongInHand().workshop(session);
  const makeUp = await answerOf(matchMakeUp(workshop, { path: 'double', item: 'c', range: LATE }));
  const { paths } = (await new SongInHand().workshop(squeezed(makeUp!))).mix;
  const without = {
    ...session,
    buses: session.buses.with(0, { ...session.buses[0]!, chain: [session.buses[0]!.chain[0]!] }),
  };
  const plain = (await new SongInHand().workshop(without)).mix.paths;
  const [after, before] = [paths, plain].map((all) => heardLoudness(excerptOf(all.get('double')!, LATE_FRAMES)));
  // It is set to a hundredth of a decibel.
  expect(Math.abs(after! - before!)).toBeLessThan(0.01);
  expect(makeUp).toBeGreaterThan(3);
});

test('reduction of a steady tone is what the ratio takes off what lies above the threshold (arithmetic)', async () => {
  const place = await new SongInHand().workshop(squeezed(0));
  const found = await answerOf(reduction(place, { path: 'double', item: 'c', range: LATE }));
  // -12 dBFS peak lies 28 dB above -40; of that 8:1 leaves 3.5 dB: 24.5 dB off, less what the filter before has taken.
  const middle = found!.reductionDb[Math.floor(found!.reductionDb.length / 2)]!;
  expect(Math.abs(middle)).toBeGreaterThan(20);
  expect(Math.abs(middle)).toBeLessThan(25);
  expect(await answerOf(reduction(place, { path: 'double', item: 'e', range: LATE }))).toBeNull();
});

test('the spectrum of what leaves an EQ is that of what comes in and its response, by third octave', async () => {
  const workshop = await new SongInHand().workshop(squeezed(0));
  const found = (await answerOf(stageSpectrum(workshop, { path: 'double', item: 'e', range: LATE })))!;
  // The tone of 110 Hz is in the band of 100 Hz (89.1 to 112 Hz). A Butterworth low cut of second order at 60 Hz takes
  // 10 log10(1 + (60 / 110)^4) = 0.37 dB off it.
  const at = found.hz.findIndex((hz) => Math.abs(hz - 100) < 1);
  expect(found.after[at]! - found.before[at]!).toBeCloseTo(-0.37, 1);
  // A sine of -12 dBFS peak at the pan law's 0 dB on both sides: two channels of -15.01 dB, summed -12.
  expect(found.before[at]).toBeCloseTo(-12, 0);
});

test('a preset is fitted to what comes to a chain, whatever the chain there is; softer sound, the same change', async () => {
  const preset = presetByName('drum squeeze')!;
  const loud = await new SongInHand().workshop(squeezed(0));
  const base = squeezed(0);
  const soft = await new SongInHand().workshop({
    ...base,
    groups: base.groups.map((group) => ({ ...group, sends: group.sends.map((send) => ({ ...send, levelDb: -12 })) })),
  });
  const [one, other] = [
    await answerOf(fitPreset(loud, { path: 'double', preset, range: null })),
    await answerOf(fitPreset(soft, { path: 'double', preset, range: null })),
  ];
  const reached = [one, other].map(({ items }) => items[0]!.reachedDb);
  expect(reached[0]! - reached[1]!).toBeCloseTo(12, 1);
  const empty = await new SongInHand().workshop(setChain(base, 'double', []));
  // Over a range, for the tail of another chain makes the song another length.
  const [here, there] = [
    await answerOf(fitPreset(loud, { path: 'double', preset, range: LATE })),
    await answerOf(fitPreset(empty, { path: 'double', preset, range: LATE })),
  ];
  expect(there).toEqual(here);
});

test('what comes to the mix bus is the sum of the paths', async () => {
  const chain = [{ id: 'glue', processor: 'compressor', settings: { threshold: -30, ratio: 2 } }];
  const workshop = await new SongInHand().workshop(smallSession({ mixBus: { chain } }));
  expect(await answerOf(matchMakeUp(workshop, { path: MIX, item: 'glue', range: null }))).toBeGreaterThan(0);
});

test('what is not rendered yet is said', async () => {
  const { song } = new SongInHand();
  // Nothing is kept of what is rendered beside.
  const workshop = new Workshop(song, await answerOf(song.rendered(squeezed(0))));
  await expect(answerOf(matchMakeUp(workshop, { path: 'double', item: 'c', range: null }))).rejects.toThrow(
    'Its input is still being rendered: ask again in a moment.',
  );
});
