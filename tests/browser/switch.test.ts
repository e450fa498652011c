import { afterEach, describe, expect, it } from 'vitest';
import { Audition, FIRST_MONITOR_DB, type Material } from '../../src/audition/audition.ts';
import type { Heard } from '../../src/audition/heard.ts';
import { gainOf } from '../../src/audio/decibels.ts';
import { sine, stereo } from '../helpers/signals.ts';
import { splatterDb } from '../helpers/splatter.ts';
import { played } from './played.ts';
import { feedTo, soundToPlay } from './sounds-to-play.ts';
import { recorderOf, type Recorder } from './recorder.ts';

const RATE = 48_000;
const HZ = 997;
/** Samples looked at around a switch: a power of two, so that all of them count. */
const WINDOW = 2 ** 15;

/** Sines of one pitch at several levels and phases, so that a switch has to bring together what does not fit. */
const material = (): Material => {
  const tone = (db: number, phase: number) => soundToPlay(stereo(sine({ hz: HZ, seconds: 30, db, phase })));
  return {
    sampleRate: RATE,
    seconds: 30,
    rough: tone(-6, 0),
    received: tone(-12, Math.PI / 2),
    paths: new Map([
      ['dry', tone(-12, Math.PI / 3)],
      ['bus', tone(-12, Math.PI / 3)],
    ]),
    mixBus: { trimGain: 1, steps: [] },
    passes: new Map([['first', tone(-20, 2)]]),
  };
};

/** All at the level of the quietest, the pass. */
const MATCH: ReadonlyMap<Heard, number> = new Map([
  ['rough', -14],
  ['received', -8],
  ['mix', -8 - 20 * Math.log10(2)],
  ['without:bus', -8],
]);
const PEAK = gainOf(-20 + FIRST_MONITOR_DB);

let audition: Audition | null = null;
const opened = async (): Promise<{ bench: Audition; recorder: Recorder }> => {
  const bench = await Audition.open(RATE, () => {});
  audition = bench;
  feedTo(bench);
  bench.load(material());
  bench.setBlends(
    new Map([
      ['dry', 1],
      ['bus', 1],
    ]),
  );
  bench.setMatch(MATCH);
  bench.hear('rough');
  const recorder = await recorderOf(bench);
  await bench.play();
  await played(bench, 0.5);
  return { bench, recorder };
};

/** What was heard around the moment of a switch. */
const around = async (
  bench: Audition,
  recorder: Recorder,
  to: Heard,
  throughSilence = false,
): Promise<Float64Array> => {
  const at = recorder.now();
  bench.hear(to, throughSilence);
  const { channels, fromFrame } = await recorder.until(at + WINDOW);
  const from = at - fromFrame - WINDOW / 4;
  return Float64Array.from(channels[0].subarray(from, from + WINDOW));
};

/** Level of each 5 ms, dB against a side that plays undisturbed. */
const levels = (samples: Float64Array): number[] =>
  Array.from({ length: Math.floor(samples.length / 240) }, (_, n) => {
    const part = samples.subarray(240 * n, 240 * (n + 1));
    return 10 * Math.log10((2 * part.reduce((sum, x) => sum + x * x, 0)) / part.length / PEAK ** 2);
  });

afterEach(async () => {
  await audition?.dispose();
  audition = null;
});

describe('a switch, recorded', () => {
  it('throws nothing over the spectrum, leaves no gap, and comes out at the same level', async () => {
    const { bench, recorder } = await opened();
    for (const side of ['mix', 'without:bus', 'pass:first', 'received', 'mix', 'rough'] as const) {
      const heard = await around(bench, recorder, side);
      // Ramps of 30 ms stay about -80 dB beyond 400 Hz; a step of these sines would throw up to -30 dB there.
      expect(splatterDb(heard, HZ, 400), `${side} splatter`).toBeLessThan(-68);
      const steps = levels(heard);
      // Two equal sines in quadrature meet 3 dB down; in opposition they would pass through nothing, which no pair here does.
      expect(Math.min(...steps), `${side} gap`).toBeGreaterThan(-9);
      // A path that goes while the side comes up by 6 dB: half way both ramps together stand at 1.5 * 1.5 / 2, 1.02 dB.
      expect(Math.max(...steps), `${side} bump`).toBeLessThan(1.1);
      for (const end of [steps.slice(2, 12), steps.slice(-12, -2)]) {
        // 5 ms are no whole number of periods of 997 Hz; ten such stretches together are near one.
        const mean = 10 * Math.log10(end.reduce((sum, db) => sum + 10 ** (db / 10), 0) / end.length);
        expect(Math.abs(mean), `${side} level`).toBeLessThan(0.05);
      }
    }
  });

  it('that is bad would be found: a step throws over the spectrum', () => {
    const before = sine({ hz: HZ, seconds: WINDOW / RATE });
    const after = sine({ hz: HZ, seconds: WINDOW / RATE, phase: Math.PI / 2 });
    const step = Float64Array.from(before, (x, n) => (n < WINDOW / 2 ? x : after[n]!));
    expect(splatterDb(step, HZ, 400)).toBeGreaterThan(-50);
  });

  it('through a silence dips the same way whether the side changes or not', async () => {
    const { bench, recorder } = await opened();
    const dips: number[][] = [];
    for (const side of ['received', 'received', 'rough', 'rough'] as const) {
      const heard = await around(bench, recorder, side, true);
      expect(splatterDb(heard, HZ, 400), `${side} splatter`).toBeLessThan(-60);
      dips.push(levels(heard).map((db) => (db < -40 ? 1 : 0)));
    }
    // Silence between the two fades: the 30 ms in which the sides move.
    for (const dip of dips) {
      const silent = dip.reduce((sum, one) => sum + one, 0);
      expect(silent).toBeGreaterThanOrEqual(5);
      expect(silent).toBeLessThanOrEqual(8);
    }
  });
});
