import { describe, expect, it } from 'vitest';
import { HeardMeter } from '../../src/audition/heard-meter.ts';
import { LevelMeter } from '../../src/audition/level-meter.ts';
import { metersFrom, READ_ONCE, type Meters } from '../../src/audition/meters.ts';
import { ReductionReader } from '../../src/audition/reduction-reader.ts';
import { Chain } from '../../src/dsp/core/chain.ts';
import { truePeakOf } from '../../src/measure/peaks/true-peak.ts';
import { runningProcessors } from '../../src/session/chain/chain-items.ts';
import { stepsOf } from '../../src/session/values.ts';
import { steady, stepOf } from '../helpers/chains.ts';
import { sessionFrom } from '../helpers/sessions.ts';
import { faded, pinkNoise, sine } from '../helpers/signals.ts';

const RATE = 48_000;

/** What a meter reads of a sound that is played in quanta of 128 frames. */
const read = (left: Float32Array, right = left, rate = RATE): Meters['heard'] => {
  const meter = new HeardMeter(rate);
  for (let at = 0; at < left.length; at += 128)
    meter.add(left.subarray(at, at + 128), right.subarray(at, at + 128), Math.min(128, left.length - at));
  const values = new Float32Array(READ_ONCE);
  meter.read(values);
  return metersFrom(values, { paths: [], chains: [] }).heard;
};

describe('the meters of what is heard', () => {
  it('read -23.0 LUFS, momentary and short-term, of a stereo sine of 1 kHz at -23 dBFS (EBU Tech 3341 case 1)', () => {
    for (const rate of [48_000, 22_050]) {
      const { momentaryLufs, shortTermLufs } = read(sine({ hz: 1000, seconds: 3.1, db: -23, rate }), undefined, rate);
      expect(Math.abs(momentaryLufs! + 23), `${rate}`).toBeLessThan(0.1);
      expect(Math.abs(shortTermLufs! + 23), `${rate}`).toBeLessThan(0.1);
    }
  });

  it('have no loudness before the time of the window has passed, and none of silence', () => {
    const soon = read(sine({ hz: 1000, seconds: 0.41, db: -23 }));
    expect(soon.momentaryLufs).not.toBeNull();
    expect(soon.shortTermLufs).toBeNull();
    const silent = read(new Float32Array(4 * RATE));
    expect(silent).toMatchObject({
      momentaryLufs: null,
      shortTermLufs: null,
      correlation: null,
      truePeakDb: -Infinity,
    });
  });

  it('read the true peak that the whole sound has', () => {
    const sound = new Float32Array(RATE + 2048);
    sound.set(pinkNoise(1, 7, 0.05).subarray(0, RATE));
    const right = new Float32Array(sound.length);
    right.set(faded(sine({ hz: 12_000, seconds: 0.9, db: -1, phase: Math.PI / 4 }), 0.1));
    const whole = 20 * Math.log10(truePeakOf([sound, right]).value);
    // The reading crosses in single precision.
    expect(Math.abs(read(sound, right).truePeakDb - whole)).toBeLessThan(1e-5);
    // A sine whose samples all stand 3 dB below its peaks.
    expect(Math.abs(whole + 1)).toBeLessThan(0.05);
  });

  it('read a correlation of 1 for equal sides, -1 for opposed ones, and the cosine of the angle between two sines', () => {
    const left = sine({ hz: 1000, seconds: 1 });
    expect(read(left).correlation).toBeCloseTo(1, 6);
    const opposed = left.map((x) => -x);
    expect(read(left, opposed).correlation).toBeCloseTo(-1, 6);
    expect(read(left, sine({ hz: 1000, seconds: 1, phase: Math.PI / 3 })).correlation).toBeCloseTo(0.5, 4);
  });
});

it('a path is read at its gain: peak and RMS of the louder side, of what came since the last reading', () => {
  const meter = new LevelMeter();
  const values = new Float32Array(2);
  const loud = sine({ hz: 1000, seconds: 0.1 });
  const soft = loud.map((x) => x / 4);
  meter.add(soft, loud, 0.5, loud.length);
  meter.read(values, 0);
  expect(values[0]).toBeCloseTo(0.5, 6);
  expect(values[1]).toBeCloseTo(0.5 / Math.SQRT2, 6);
  meter.read(values, 0);
  expect([...values]).toEqual([0, 0]);
});

it('gain reduction is that of the static curve, for each processor that runs', () => {
  const settings = { threshold: -12, ratio: 2, knee: 0, attack: 1, detector: 'peak' };
  const items = sessionFrom({
    mixBus: {
      chain: [
        { id: 'off', processor: 'compressor', on: false },
        { id: 'c', processor: 'compressor', settings },
        { id: 'g', processor: 'gain' },
      ],
    },
  }).mixBus.chain;
  const chain = new Chain(stepsOf(items, 120, [4, 4]), RATE, 128);
  const { left, right } = steady(0.5, 128);
  const reader = new ReductionReader();
  const values = new Float32Array(2);
  for (let n = 0; n < 400; n++) chain.process(left.slice(), right.slice(), 128);
  reader.read(chain.traces, values, 0);
  expect(runningProcessors(items).map(({ id }) => id)).toEqual(['c', 'g']);
  // Peak and RMS of a steady level are the same: half of what lies above the threshold at a ratio of 2.
  expect(values[0]).toBeCloseTo((20 * Math.log10(0.5) + 12) / 2, 2);
  expect(values[1]).toBeNaN();
});

it('a chain that splits has a trace for each processor in the split', () => {
  const step = { split: [stepOf('compressor'), stepOf('eq')] };
  expect(new Chain([step, stepOf('gate')], RATE, 128).traces.map((trace) => trace !== null)).toEqual([
    true,
    false,
    true,
  ]);
});
