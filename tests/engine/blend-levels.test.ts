import { describe, expect, it } from 'vitest';
import type { Heard } from '../../src/audition/heard.ts';
import { finished } from '../../src/audio/steps.ts';
import { valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processorOf } from '../../src/dsp/core/registry.ts';
import { measure } from '../../src/measure/measure.ts';
import { sumPaths, throughMixBus } from '../../src/render/mix.ts';
import { memoryRoom } from '../../src/render/store/room.ts';
import { BlendLevels } from '../../src/engine/worker/blend-levels.ts';
import { excerptOf, type Frames } from '../../src/engine/excerpt.ts';
import { pinkNoise, sine, stereo } from '../helpers/signals.ts';

const paths = new Map([
  [
    'drums',
    stereo(
      pinkNoise(5, 1, 0.1).map((x, n) => x * (n % 24_000 < 6000 ? 1.5 : 0.3)),
      pinkNoise(5, 2, 0.05),
    ),
  ],
  ['bass', stereo(sine({ hz: 90, seconds: 5, db: -14 }).map((x, n) => (n < 120_000 ? x : 0.2 * x)))],
  ['bus', stereo(pinkNoise(5, 3, 0.08))],
]);
const frames = Math.min(...[...paths.values()].map(({ channels }) => channels[0]!.length));
const cut = new Map([...paths].map(([id, audio]) => [id, excerptOf(audio, { from: 0, to: frames })]));
const gains = new Map([
  ['drums', 1],
  ['bass', 0.8],
  ['bus', 0.5],
]);
const squeeze = {
  processor: 'compressor',
  values: valuesFrom(processorOf('compressor').parameters, {
    threshold: -24,
    ratio: 4,
    attack: 10,
    detector: 'peak',
    lookAhead: 5,
  }),
};
const levelsOf = (steps: (typeof squeeze)[]) => {
  const mixBus = { trimGain: 0.7, steps };
  const printed = throughMixBus(sumPaths(cut, gains), mixBus);
  return { mixBus, levels: new BlendLevels(cut, gains, mixBus, printed, memoryRoom) };
};
const levelOf = (levels: BlendLevels, side: Heard, stretch: Frames | null): number | null =>
  finished(levels.levelSteps(side, stretch));
const estimateOf = (levels: BlendLevels, side: Heard, stretch: Frames | null): number | null =>
  finished(levels.estimateSteps(side, stretch));
const SECTION: Frames = { from: 72_000, to: 168_000 };

describe('levels of a blend', () => {
  it.each([null, SECTION])('are those of the print, with each path and without it, over %j', (stretch) => {
    const { mixBus, levels } = levelsOf([squeeze]);
    const measured = (without: string | null): number => {
      const rest = without === null ? gains : new Map(gains).set(without, 0);
      return measure(excerptOf(throughMixBus(sumPaths(cut, rest), mixBus), stretch)).integratedLufs!;
    };
    expect(levelOf(levels, 'mix', stretch)).toBeCloseTo(measured(null), 9);
    for (const id of paths.keys()) expect(levelOf(levels, `without:${id}`, stretch), id).toBeCloseTo(measured(id), 9);
  });

  it('are estimated from the sum before the mix bus, within what its chain makes of the difference', () => {
    const { levels } = levelsOf([squeeze]);
    expect(levels.isQuick('without:drums', SECTION)).toBe(false);
    const estimate = estimateOf(levels, 'without:drums', SECTION)!;
    // A chain of ratio 4 lets at least a quarter of a change through, and never more than all of it.
    const change = levelOf(levels, 'without:drums', SECTION)! - levelOf(levels, 'mix', SECTION)!;
    const before = estimate - levelOf(levels, 'mix', SECTION)!;
    expect(before).toBeLessThan(-0.5);
    expect(change).toBeLessThan(before / 4 + 0.3);
    expect(change).toBeGreaterThan(before - 0.3);
    expect(levels.isQuick('without:drums', SECTION)).toBe(true);
  });

  it('are those of the mix without a path that is shut', () => {
    const { mixBus } = levelsOf([squeeze]);
    const shut = new Map(gains).set('bus', 0);
    const levels = new BlendLevels(cut, shut, mixBus, throughMixBus(sumPaths(cut, shut), mixBus), memoryRoom);
    expect(levels.isQuick('without:bus', SECTION)).toBe(true);
    expect(levelOf(levels, 'without:bus', SECTION)).toBe(levelOf(levels, 'mix', SECTION));
  });

  it('need no estimate where no chain follows the sum', () => {
    const { levels } = levelsOf([]);
    expect(levels.isQuick('without:bus', null)).toBe(true);
    expect(estimateOf(levels, 'without:bus', SECTION)).toBeCloseTo(levelOf(levels, 'without:bus', SECTION)!, 3);
  });
});
