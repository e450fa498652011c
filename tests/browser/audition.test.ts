import { afterEach, describe, expect, it } from 'vitest';
import { Audition, FIRST_MONITOR_DB, type Material } from '../../src/audition/audition.ts';
import type { Meters } from '../../src/audition/meters.ts';
import type { PlayedSound } from '../../src/audition/played-sound.ts';
import { gainOf } from '../../src/audio/decibels.ts';
import type { ProcessorStep } from '../../src/dsp/core/chain.ts';
import { valuesFrom, type Settings } from '../../src/dsp/core/parameter.ts';
import { thirdOctavesBelow } from '../../src/measure/third-octaves.ts';
import { processorOf } from '../../src/dsp/core/registry.ts';
import { played } from './played.ts';
import { feedTo, soundToPlay } from './sounds-to-play.ts';
import { recorderOf, type Recording } from './recorder.ts';

const RATE = 48_000;
const SECONDS = 4;

/** A sound whose sample at time t is `slope` times t, so that what is heard tells where playing is. */
const clock = (slope: number): PlayedSound => {
  const channel = Float32Array.from({ length: SECONDS * RATE }, (_, n) => (slope * n) / RATE);
  return soundToPlay({ sampleRate: RATE, channels: [channel, channel] });
};

const material = (): Material => ({
  sampleRate: RATE,
  seconds: SECONDS,
  rough: clock(0.1),
  received: clock(0.05),
  paths: new Map([
    ['dry', clock(0.1)],
    ['bus', clock(0.1)],
  ]),
  mixBus: { trimGain: 1, steps: [] },
  passes: new Map([['first', clock(0.2)]]),
});

/** Listens in on the way to the loudspeakers. */
const tap = (audition: Audition): (() => number) => {
  const { context, volume } = audition as unknown as {
    context: { createAnalyser(): AnalyserNode };
    volume: { connect(node: AnalyserNode): void };
  };
  const analyser = context.createAnalyser();
  volume.connect(analyser);
  const samples = new Float32Array(analyser.fftSize);
  return () => {
    analyser.getFloatTimeDomainData(samples);
    return samples.at(-1)!;
  };
};

const MONITOR = gainOf(FIRST_MONITOR_DB);
/** The analyser is read up to some render quanta beside the clock, and the machine may be busy: seconds. */
const NEAR = 0.15;

let audition: Audition | null = null;
const opened = async (): Promise<{ audition: Audition; heard: () => number }> => {
  audition = await Audition.open(RATE, () => {});
  feedTo(audition);
  audition.load(material());
  audition.setBlends(
    new Map([
      ['dry', 1],
      ['bus', 0.5],
    ]),
  );
  return { audition, heard: tap(audition) };
};

/** Plays sides in turn; each is at its level (slope of the ramp that it holds) and at the place of the song where playing is. */
const expectInTime = async (
  bench: Audition,
  heard: () => number,
  sides: readonly (readonly [side: Parameters<Audition['hear']>[0], slope: number])[],
): Promise<void> => {
  for (const [side, slope] of sides) {
    bench.hear(side);
    await played(bench, 0.35);
    expect(Math.abs(heard() / (slope * MONITOR) - bench.position()), side).toBeLessThan(NEAR);
  }
};

afterEach(async () => {
  await audition?.dispose();
  audition = null;
});

describe('audition', () => {
  it('starts low, plays the blend of the paths, and goes on from where it was', async () => {
    const { audition: bench, heard } = await opened();
    bench.seek(1);
    const readings: Meters[] = [];
    bench.setMetering((meters) => readings.push(meters));
    await bench.play();
    await played(bench, 0.4);
    const position = bench.position();
    expect(bench.playing).toBe(true);
    expect(position).toBeGreaterThan(1.1);
    // dry at 1 and bus at 0.5: 0.15 a second, at the monitor's first level.
    expect(Math.abs(heard() / (0.15 * MONITOR) - position)).toBeLessThan(NEAR);
    // The meters stand before the monitor: 0.15 a second at the place that they name.
    const { seconds, heard: read, paths } = readings.at(-1)!;
    // How many have come by now is a matter of how busy the machine is.
    expect(readings).not.toHaveLength(0);
    expect(Math.abs(gainOf(read.left.peakDb) - 0.15 * seconds)).toBeLessThan(0.01);
    expect([...paths.keys()]).toEqual(['dry', 'bus']);
    bench.pause();
    expect(bench.playing).toBe(false);
    expect(Math.abs(bench.position() - position)).toBeLessThan(NEAR);
  });

  it('tells the third octaves of what is heard, before the monitor, and none while nothing plays', async () => {
    const { audition: bench } = await opened();
    const tone = Float32Array.from(
      { length: SECONDS * RATE },
      (_, n) => 0.25 * Math.sin((2 * Math.PI * 1000 * n) / RATE),
    );
    const sine = soundToPlay({ sampleRate: RATE, channels: [tone, new Float32Array(tone.length)] });
    bench.load({ ...material(), paths: new Map([['dry', sine]]) });
    bench.setBlends(new Map([['dry', 1]]));
    expect(bench.bands()).toEqual([]);
    await bench.play();
    await played(bench, 0.8);
    const bands = bench.bands();
    const at = thirdOctavesBelow(RATE).findIndex(({ hz }) => Math.round(hz) === 1000);
    // A sine of amplitude 0.25 has the mean square 0.25^2 / 2; the browser works in single precision.
    expect(bands[at]).toBeCloseTo(10 * Math.log10(0.25 ** 2 / 2), 1);
    for (const [n, level] of bands.entries()) if (Math.abs(n - at) > 1) expect(level).toBeLessThan(-70);
    bench.pause();
    expect(bench.bands()).toEqual([]);
  });

  it('switches sides in time, each turned down as told', async () => {
    const { audition: bench, heard } = await opened();
    bench.setMatch(
      new Map([
        ['rough', -6.0206],
        ['mix', -3],
        ['pass:first', -12],
        ['without:dry', -1],
      ]),
    );
    await bench.play();
    await played(bench, 0.3);
    await expectInTime(bench, heard, [
      ['rough', 0.05],
      ['received', 0.05],
      ['mix', 0.15 * gainOf(-3)],
      ['without:dry', 0.05 * gainOf(-1)],
      ['pass:first', 0.2 * gainOf(-12)],
      ['without:bus', 0.1],
    ]);
  });

  it('moves a blend at once, without a new start', async () => {
    const { audition: bench, heard } = await opened();
    await bench.play();
    await played(bench, 0.3);
    bench.setBlends(new Map([['bus', 0]]));
    await played(bench, 0.35);
    expect(Math.abs(heard() / (0.1 * MONITOR) - bench.position())).toBeLessThan(NEAR);
  });

  it('stays in its loop', async () => {
    const { audition: bench, heard } = await opened();
    bench.setLoop({ startSeconds: 1, endSeconds: 1.5 });
    await bench.play();
    for (let n = 0; n < 8; n++) {
      await played(bench, 0.17);
      const position = bench.position();
      expect(position).toBeGreaterThanOrEqual(1);
      expect(position).toBeLessThan(1.5);
      const place = heard() / (0.15 * MONITOR);
      // Around the jump the two may stand on either side of it.
      expect(Math.min(Math.abs(place - position), 0.5 - Math.abs(place - position))).toBeLessThan(NEAR);
    }
  });

  it('takes new sound in place of the old while it plays', async () => {
    const { audition: bench, heard } = await opened();
    await bench.play();
    await played(bench, 0.2);
    bench.load({ ...material(), paths: new Map([['dry', clock(0.02)]]) });
    bench.setBlends(new Map([['dry', 1]]));
    await played(bench, 0.35);
    expect(bench.playing).toBe(true);
    expect(Math.abs(heard() / (0.02 * MONITOR) - bench.position())).toBeLessThan(NEAR);
  });

  it('keeps all sides in time when the mix bus looks ahead', async () => {
    const { audition: bench, heard } = await opened();
    const values = valuesFrom(processorOf('compressor').parameters, { lookAhead: 20 });
    bench.setMixBus({ trimGain: 1, steps: [{ processor: 'compressor', values }] });
    await bench.play();
    await expectInTime(bench, heard, [
      ['mix', 0.15],
      ['rough', 0.1],
    ]);
  });

  it('keeps the tail that sounds on the mix bus while its chain is moved', async () => {
    const { audition: bench } = await opened();
    const step = (processor: string, settings: Settings): ProcessorStep => ({
      processor,
      values: valuesFrom(processorOf(processor).parameters, settings),
    });
    const reverb = step('reverb', { decay: 6, mix: 100 });
    const eq = (gain: number): ProcessorStep => step('eq', { 'band1.on': true, 'band1.gain': gain });
    const tick = new Float32Array(SECONDS * RATE);
    tick.fill(0.5, 0.2 * RATE, 0.21 * RATE);
    const ticking = soundToPlay({ sampleRate: RATE, channels: [tick, tick] });
    bench.load({ ...material(), paths: new Map([['dry', ticking]]), mixBus: { trimGain: 1, steps: [eq(0), reverb] } });
    const recorder = await recorderOf(bench);
    await bench.play();
    await played(bench, 0.7);
    const levelAt = ({ channels, fromFrame }: Recording, frame: number): number =>
      10 *
      Math.log10(channels[0].subarray(frame - fromFrame, frame - fromFrame + 4800).reduce((sum, x) => sum + x * x, 0));
    for (const steps of [[eq(6), reverb], [reverb], [step('gain', {}), reverb]]) {
      const at = recorder.now();
      bench.setMixBus({ trimGain: 1, steps });
      const recording = await recorder.until(at + 19_200);
      // It falls by 60 dB in 6 s: 3 dB in 0.3 s, give or take what a noise-like tail differs by from one 0.1 s to the next.
      expect(levelAt(recording, at + 14_400)).toBeGreaterThan(levelAt(recording, at - 4800) - 9);
    }
  });
});
