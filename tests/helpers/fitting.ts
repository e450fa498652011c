import { framesOf, onBothSides, type Audio } from '../../src/audio/audio.ts';
import { finished } from '../../src/audio/steps.ts';
import { fitMeters } from '../../src/measure/heard.ts';
import { fittedChainSteps, type Fittable, type FittedChain } from '../../src/render/fit/fit-chain.ts';

/** What chains run by in these tests. */
export const SONG = { tempo: 96, meter: [4, 4] as [number, 4] };

/** A preset fitted to the whole of a sound, and its key. */
export const fittedTo = (sound: Audio, preset: Fittable, key: Audio | null = null): FittedChain =>
  finished(
    fittedChainSteps({ sound: onBothSides(sound), key }, preset, {
      range: { from: 0, to: framesOf(sound) },
      song: SONG,
      ...fitMeters,
    }),
  );
