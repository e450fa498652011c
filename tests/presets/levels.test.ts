import { describe, expect, it } from 'vitest';
import type { Audio } from '../../src/audio/audio.ts';
import { measure } from '../../src/measure/measure.ts';
import { chainSteps } from '../../src/render/mix.ts';
import { raised } from '../../src/render/match-make-up.ts';
import { finished } from '../../src/audio/steps.ts';
import type { Preset } from '../../src/session/preset.ts';
import { presets } from '../../src/session/presets.ts';
import { stepsOf } from '../../src/session/values.ts';
import { fittedTo, SONG } from '../helpers/fitting.ts';
import { demoParts } from './demo-parts.ts';

/** Seconds of the chorus that are long enough to be told from one another by their figures. */
const SECONDS = 4;
/** The contract: what a preset does is the same at any level, within this, dB. */
const SAME_DB = 0.5;
/** Bands this far below the loudest are not heard, dB. */
const UNHEARD_DB = 60;

const begin = ({ sampleRate, channels }: Audio): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.slice(0, SECONDS * sampleRate)),
});

/** What a preset makes of a sound that is brought to it at a gain; that gain taken back, and the figures of it. */
const figuresAt = (sound: Audio, preset: Preset, gainDb: number) => {
  const input = raised(sound, gainDb);
  const steps = stepsOf(fittedTo(input, preset).chain, SONG.tempo, SONG.meter);
  return measure(raised(finished(chainSteps(input, steps, null)), -gainDb));
};

/** The others hold nothing that depends on level: `tests/dsp/level.test.ts`. */
const fitted = presets.filter(({ fit }) => fit !== undefined);

describe('at input levels of -24, -12 and 0 dB', () => {
  it.each(fitted.map((preset) => [preset.name, preset] as const))('%s does the same', async (_name, preset) => {
    const sound = begin(await demoParts(preset.suits));
    const whole = figuresAt(sound, preset, 0);
    const floor = Math.max(...whole.bands.map(({ levelDb }) => levelDb ?? -200)) - UNHEARD_DB;
    for (const gainDb of [-12, -24]) {
      const softer = figuresAt(sound, preset, gainDb);
      for (const figure of ['integratedLufs', 'crestDb', 'truePeakDbtp'] as const)
        expect(Math.abs(softer[figure]! - whole[figure]!), `${figure} at ${gainDb}`).toBeLessThan(SAME_DB);
      for (const [n, { hz, levelDb }] of whole.bands.entries())
        if ((levelDb ?? -200) > floor)
          expect(Math.abs(softer.bands[n]!.levelDb! - levelDb!), `${hz} Hz at ${gainDb}`).toBeLessThan(SAME_DB);
    }
  });
});
