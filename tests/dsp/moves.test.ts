import { describe, expect, test } from 'vitest';
import { Chain } from '../../src/dsp/core/chain.ts';
import type { NumberParameter, Setting, Settings } from '../../src/dsp/core/parameter.ts';
import { CONTROL_FRAMES } from '../../src/dsp/core/processor.ts';
import { processorOf, processors } from '../../src/dsp/core/registry.ts';
import { peakOf, run, stepOf, tone } from '../helpers/chains.ts';
import { extremesOf, isTwin, sameLatency } from '../helpers/corners.ts';
import { sampleOf } from '../helpers/soak.ts';
import { loudestBurstDb } from '../helpers/bursts.ts';

// A click is short and wide. A 997 Hz sine plays while a parameter travels through its whole range in a second, one
// step every control block; what then appears above 3 kHz is compared with the loudest output.

const SINE = tone(997, 48000, 0.25);
/** Start of the sine itself is left out, samples. */
const SETTLED = 6000;
const ABOVE_HZ = 3000;
/** A switch is one step: it fades in 15 ms, whose own band around the sine reaches further. */
const SWITCHED_ABOVE_HZ = 6000;
/** Bound of the issue for sweeps, dB. */
const CLEAN_DB = -80;

/** Settings that make each processor work hard; others are moved from what they start with. */
const HARD: Readonly<Record<string, readonly Settings[]>> = {
  eq: [
    { 'band1.on': true, 'band1.shape': 'bell', 'band1.gain': 24, 'band1.frequency': 997, 'band1.q': 20 },
    { 'band1.on': true, 'band1.shape': 'bell', 'band1.gain': -24, 'band1.frequency': 997, 'band1.mode': 'mid' },
    { 'band1.on': true, 'band1.gain': 24, 'band1.frequency': 997, 'band1.shape': 'high shelf' },
    { 'band1.on': true, 'band1.frequency': 400, 'band1.shape': 'low cut', 'band1.slope': '48 dB/oct' },
    { 'band1.on': true, 'band1.frequency': 997, 'band1.shape': 'tilt', 'band1.gain': -24, design: 'cookbook' },
    {
      'band1.on': true,
      'band1.shape': 'bell',
      'band1.frequency': 997,
      'band1.dynamic': 'down',
      'band1.threshold': -40,
      'band1.ratio': 20,
      'band1.range': 24,
      'band1.attack': 1,
      'band1.release': 10,
    },
  ],
  compressor: [
    {},
    { threshold: -40, ratio: 100, attack: 0.01, release: 5, knee: 0, detector: 'peak' },
    { threshold: -40, ratio: 100, attack: 1, release: 5, knee: 0 },
    { threshold: -40, ratio: 20, topology: 'feed-back', detector: 'smooth peak', mode: 'mid/side', link: 0 },
    { threshold: -40, ratio: 8, autoMakeUp: true, autoRelease: true, band: true, bandFrequency: 997, tilt: 6 },
  ],
  widener: [{}, { decorrelation: 100, delay: 10, lowWidth: 0, monoBelow: 300, keepLoudness: true }],
  panner: [{}, { pan: -60, balance: 30, width: 0, monoBelow: 400 }],
  'harshness-control': [{ range: 12, from: 500, to: 2000 }],
  limiter: [{}, { ceiling: -20, drive: 24, release: 5, adapt: 0 }],
  gate: [{}, { threshold: -6, ratio: 4 }],
  exciter: [{}, { amount: 100, frequency: 1000 }],
  chorus: [{}, { voices: '4', rate: 8, depth: 5, feedback: 50, mix: 100 }],
  doubler: [{}, { copies: '4', drift: 30, levelDrift: 6, spread: 50, mix: 100 }],
};

/** Where a sweep makes the processor act, what is heard is its own attack: the gate opens within 1 ms as its key lets go. */
const ACTS_DB: Readonly<Record<string, number>> = { 'gate highCut': -70 };

const along = ({ scale, min, max }: NumberParameter, share: number): number =>
  scale === 'linear' ? min + (max - min) * share : min * (max / min) ** share;

const burstOf = (output: { left: Float64Array; right: Float64Array }, aboveHz: number): number =>
  loudestBurstDb(output.left.subarray(SETTLED), aboveHz, peakOf(output, SETTLED));

const part = (from: number, to: number) => ({
  left: SINE.left.subarray(from, to),
  right: SINE.right.subarray(from, to),
});

/** Plays the sine while `id` travels from 0 to 1 of its range. */
function swept(processor: string, base: Settings, id: string, parameter: NumberParameter): number {
  const settings = (share: number): Settings => ({ ...base, [id]: along(parameter, share) });
  const chain = new Chain([stepOf(processor, settings(0))], 48000, CONTROL_FRAMES);
  const output = { left: SINE.left.slice(), right: SINE.right.slice() };
  for (let from = 0; from < 48000; from += CONTROL_FRAMES) {
    chain.set(0, stepOf(processor, settings(from / 48000)).values);
    const to = from + CONTROL_FRAMES;
    chain.process(output.left.subarray(from, to), output.right.subarray(from, to), CONTROL_FRAMES);
  }
  return burstOf(output, ABOVE_HZ);
}

/** What the processor makes of the sine by itself: its harmonics. */
const atRest = (processor: string, settings: Settings, aboveHz: number): number =>
  burstOf(run(new Chain([stepOf(processor, settings)], 48000, 128), part(0, 48000)), aboveHz);

/** Plays the sine through one sudden change. */
function switched(processor: string, base: Settings, id: string, setting: Setting): number {
  const chain = new Chain([stepOf(processor, base)], 48000, 128);
  const before = run(chain, part(0, 12000));
  chain.set(0, stepOf(processor, { ...base, [id]: setting }).values);
  const after = run(chain, part(12000, 48000));
  // Both sides, as at rest: the level that a click is compared with is that of the louder one.
  const whole = { left: new Float64Array(48000), right: new Float64Array(48000) };
  for (const side of ['left', 'right'] as const) {
    whole[side].set(before[side]);
    whole[side].set(after[side], 12000);
  }
  return burstOf(whole, SWITCHED_ABOVE_HZ);
}

const movable = (processor: string, base: Settings) =>
  Object.entries(processorOf(processor).parameters).filter(([id, parameter]) => {
    const moved = { ...base, [id]: extremesOf(parameter)[0]! };
    const fixed = sameLatency(processorOf(processor), moved, base);
    return fixed[id] === moved[id] && !isTwin(id);
  });

describe.each([...processors.keys()])('%s', (processor) => {
  for (const [n, hard] of (HARD[processor] ?? [{}]).entries()) {
    const base = { ...processorOf(processor).start, ...hard };
    const all = movable(processor, base);
    // A quarter of the parameters move from the first of the settings, an eighth from each of the others; when soaking, all.
    for (const [id, parameter] of sampleOf(all, Math.ceil(all.length / (n === 0 ? 4 : 8)))) {
      const clean = ACTS_DB[`${processor} ${id}`] ?? CLEAN_DB;
      // Harmonics that are there at rest are no clicks: moving may add no more than 3 dB to the loudest of them. They are
      // looked for only where the move is not clean as it is, and no further than to one that is as loud.
      const boundFor = (heard: number, settings: readonly Setting[], aboveHz: number): number => {
        let bound = clean;
        for (const setting of settings) {
          if (heard < bound) break;
          bound = Math.max(bound, 3 + atRest(processor, { ...base, [id]: setting }, aboveHz));
        }
        return bound;
      };
      if (parameter.kind === 'number')
        test(`${id} sweeps without clicks ${JSON.stringify(hard)}`, () => {
          const heard = swept(processor, base, id, parameter);
          const settings = [0, 0.25, 0.5, 0.75, 1].map((share) => along(parameter, share));
          expect(heard).toBeLessThan(boundFor(heard, settings, ABOVE_HZ));
        });
      else
        for (const setting of extremesOf(parameter))
          test(`${id} switches to ${setting} without a click ${JSON.stringify(hard)}`, () => {
            const heard = switched(processor, base, id, setting);
            const settings = [base[id] ?? parameter.default, setting];
            expect(heard).toBeLessThan(boundFor(heard, settings, SWITCHED_ABOVE_HZ));
          });
    }
  }
});
