import { framesOf, onBothSides, type Audio } from '../audio/audio.ts';
import { finished } from '../audio/steps.ts';
import { fitMeters } from '../measure/heard.ts';
import { fittedChainSteps, type FittedChain } from '../render/fit-chain.ts';
import type { Song } from '../render/match-make-up.ts';
import type { Preset } from '../session/preset.ts';

/** A preset fitted to the whole of a sound of one or two channels, without a key. */
export const fitPreset = (audio: Audio, preset: Preset, song: Song): FittedChain =>
  finished(
    fittedChainSteps({ sound: onBothSides(audio), key: null }, preset, {
      range: { from: 0, to: framesOf(audio) },
      song,
      ...fitMeters,
    }),
  );

/** What was fitted, as `--json` tells it. */
export const fittedAnswer = ({ chain, items, gainDb, levelLu, softerFor }: FittedChain) => ({
  processors: items.map(({ item, reachedDb, settings, gainDb: before }) => ({
    id: item.id,
    processor: item.processor,
    reachedDb,
    settings,
    gainDb: before,
  })),
  gainDb,
  levelLu,
  softerFor,
  chain,
});
