import { expect, it } from 'vitest';
import { finished } from '../../src/audio/steps.ts';
import { chainSteps } from '../../src/render/mix.ts';
import { presetByName } from '../../src/session/presets/presets.ts';
import { stepsOf } from '../../src/session/values.ts';
import { fittedTo, SONG } from '../helpers/fitting.ts';
import { sine, stereo } from '../helpers/signals.ts';
import { partAt } from '../helpers/tones.ts';

/** Presets for bass and whole mixes that turn down by level, distortion not being their purpose. */
const CLEAN = [
  'bass levelling',
  'bus glue',
  'kick and bass glue',
  'loud-section lift',
  'mix bus polish',
  'rough mix compression',
];
/** Total harmonic distortion of a 50 Hz tone that is not heard as such in music: the project's own bound. */
const MOST_THD = 0.005;
const HZ = 50;
const SECONDS = 3;

it.each(CLEAN)('%s keeps a low note clean', (name) => {
  const tone = sine({ hz: HZ, seconds: SECONDS, db: -6 });
  const sound = stereo(tone, tone);
  const { chain } = fittedTo(sound, presetByName(name)!);
  const out = finished(chainSteps(sound, stepsOf(chain, SONG.tempo, SONG.meter), null));
  // The last second: whole cycles, all settled.
  const settled = Float64Array.from(out.channels[0]!.subarray((SECONDS - 1) * 48_000));
  const part = (order: number): number => partAt(settled, order * HZ).amplitude;
  expect(Math.hypot(...[2, 3, 4, 5, 6, 7, 8, 9, 10].map(part)) / part(1)).toBeLessThan(MOST_THD);
});
