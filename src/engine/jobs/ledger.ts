import { placedSound, type Sound } from '../../audio/audio.ts';
import { partOf } from '../../audio/steps.ts';
import { flowOver } from '../../blend/ledger/flow.ts';
import {
  fitted,
  ledgerBasisSteps,
  ledgerRows,
  mixFiguresOf,
  type LedgerBasis,
  type LedgerInput,
  type LedgerRow,
} from '../../blend/ledger/ledger.ts';
import { totalEnergy, weightedEnergySteps } from '../../measure/weighted-energy.ts';
import { flowPlaces } from '../../render/flow-places.ts';
import { originsOf } from '../../render/origins.ts';
import { pathNames } from '../../session/graph.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import { partOfJob, stepped, type Job } from '../job.ts';
import type { LedgerQuestion, StretchLedger } from '../questions.ts';
import type { Mix } from '../song.ts';
import type { Workshop } from '../workshop.ts';

export type StretchTask = Pick<LedgerQuestion, 'section'>;

/** Parts of a ledger that are done once the mix as received is rendered, once all is measured, and once the rows are made. */
const RECEIVED = 0.1;
const BASIS = 0.6;
const ROWS = 0.8;

/** The rendered paths until the last tail has died away, each with what it is made of. */
const inputsOf = ({ plan, paths }: Mix): LedgerInput[] =>
  [...originsOf(plan)].map(([id, origin]) => ({ id, audio: fitted(paths.get(id)!, plan.soundFrames), ...origin }));

/** K-weighted energy of each sound over the stretch; each step yields the part done, 0..1. */
function* energiesSteps(
  sounds: readonly (readonly [string, () => Sound])[],
  frames: Frames | null,
): Generator<number, [string, number][]> {
  const energies: [string, number][] = [];
  for (const [n, [id, sound]] of sounds.entries()) {
    const steps = weightedEnergySteps(excerptOf(sound(), frames));
    energies.push([id, totalEnergy(yield* partOf(steps, n / sounds.length, (n + 1) / sounds.length))]);
  }
  return energies;
}

/** All that flows through a mix: its tracks where they stand in the song, and its paths. Each is made when it is measured. */
const flowingSounds = ({ song, mix }: Workshop, inputs: readonly LedgerInput[]): [string, () => Sound][] => {
  const { plan, session } = mix;
  const { sources } = song.planned(session);
  return [
    ...plan.sources.map(({ id, startFrame }): [string, () => Sound] => {
      const sound = sources.get(id)!;
      return [id, () => placedSound(sound, startFrame, plan.soundFrames)];
    }),
    ...inputs.map(({ id, audio }): [string, () => Sound] => [id, () => audio]),
  ];
};

/**
 * What every path does to the mix over a stretch, and where its loudness comes from, before the mix bus; each row is told as
 * soon as it is there.
 * @throws Error with one clear sentence when the section begins behind the end of the song
 */
export async function* ledger(workshop: Workshop, { section }: StretchTask): Job<StretchLedger, LedgerRow> {
  const { song, session, mix } = workshop;
  const { plan } = mix;
  const frames = workshop.stretch(section);
  const { paths: groups } = yield* partOfJob(song.received(session), 0, RECEIVED);
  const received = [...groups].map(([id, audio]) => ({ id, audio: fitted(audio, plan.soundFrames) }));
  const inputs = inputsOf(mix);
  const range = frames ? { range: { fromFrame: frames.from, toFrame: frames.to } } : {};
  const basis: LedgerBasis = yield* stepped(ledgerBasisSteps(inputs, { received, ...range }), RECEIVED, BASIS);
  const gains = plan.paths.map(({ gain }) => gain);
  const figures = mixFiguresOf(basis, gains);
  const rows: LedgerRow[] = [];
  for (const row of ledgerRows(basis, gains, figures, true, pathNames(session))) {
    rows.push(row);
    yield { row };
    yield { part: BASIS + ((ROWS - BASIS) * rows.length) / inputs.length };
  }
  const energies = yield* stepped(energiesSteps(flowingSounds(workshop, inputs), frames), ROWS, 1);
  const shares = new Map(rows.map(({ id, shareOfLoudness }) => [id, shareOfLoudness ?? 0]));
  return { mix: figures, paths: rows, flow: flowOver(flowPlaces(plan), new Map(energies), shares) };
}
