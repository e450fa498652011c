import { framesOf, placedSound, type Sound } from '../../audio/audio.ts';
import { partOf } from '../../audio/steps.ts';
import { flowOver, type Flow } from '../../blend/ledger/flow.ts';
import { fitted } from '../../blend/ledger/ledger.ts';
import { totalEnergy, weightedEnergySteps } from '../../measure/loudness/weighted-energy.ts';
import { flowPlaces } from '../../render/plan/flow-places.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import type { Workshop } from '../workshop.ts';

/** All sounds of a mix: its tracks at their times in the song, and its paths. Each is made when it is measured. */
const flowingSounds = ({ song, mix }: Workshop): [string, () => Sound][] => {
  const { plan, paths, session } = mix;
  const { sources } = song.planned(session);
  return [
    ...plan.sources.map(({ id, startFrame }): [string, () => Sound] => {
      const sound = sources.get(id)!;
      return [id, () => placedSound(sound, startFrame, plan.soundFrames)];
    }),
    ...plan.paths.map(({ id }): [string, () => Sound] => [id, () => fitted(paths.get(id)!, plan.soundFrames)]),
  ];
};

/**
 * Sources of the loudness of a mix over a range, before the mix bus, from each path's share; each step yields the part done, 0..1.
 * Nodes that are silent in the range contribute nothing.
 */
export function* flowSteps(
  workshop: Workshop,
  frames: Frames | null,
  shares: ReadonlyMap<string, number>,
): Generator<number, Flow> {
  const sounds = flowingSounds(workshop);
  const energies = new Map<string, number>();
  for (const [n, [id, sound]] of sounds.entries()) {
    const stretch = excerptOf(sound(), frames);
    if (framesOf(stretch) === 0) continue;
    const steps = weightedEnergySteps(stretch);
    energies.set(id, totalEnergy(yield* partOf(steps, n / sounds.length, (n + 1) / sounds.length)));
  }
  return flowOver(flowPlaces(workshop.mix.plan), energies, shares);
}
