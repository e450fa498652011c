import { flowOver } from '../../blend/ledger/flow.ts';
import { heardItems, processorRows, type ProcessorRow } from '../../blend/ledger/processor-rows.ts';
import type { QueryPath } from '../../blend/gram/make-blend-query.ts';
import type { Audio } from '../../audio/audio.ts';
import type { Figures } from '../../measure/figures.ts';
import { foundOnly, type RenderedPaths } from '../../render/executor.ts';
import { flowPlaces } from '../../render/flow-places.ts';
import { gainsOf } from '../../render/mix.ts';
import type { Plan } from '../../render/plan.ts';
import { placed } from '../../render/sources.ts';
import type { Session } from '../../session/schema.ts';
import { isSameSound, stretchIn, type Frames } from '../excerpt.ts';
import type { LedgerJob, LedgerPart } from './ledger-jobs.ts';
import {
  askingFor,
  type Asking,
  type LedgerQuestion,
  type ProcessorsQuestion,
  type StretchLedger,
} from '../questions.ts';
import type { SweepStudio } from './sweep-rounds.ts';

/** What is at hand to make a ledger with. */
export interface LedgerStudio extends Omit<SweepStudio, 'ask' | 'rough'> {
  /** Has the worker answer a part. */
  readonly ask: <J extends LedgerJob>(job: J, asking: Asking) => Promise<LedgerPart<J>>;
}

/** Copies of the frames of a sound, which can move over; silence where it has ended before. */
const copied = ({ sampleRate, channels }: Audio, { from, to }: Frames): Audio => ({
  sampleRate,
  channels: channels.map((channel) => {
    const copy = new Float32Array(to - from);
    copy.set(channel.subarray(from, to));
    return copy;
  }),
});

/** Parts of a ledger that are done once the mix as received is there, and once the tracks are measured. */
const RECEIVED = 0.1;
const TRACKS = 0.35;

/** K-weighted energy of each track over the stretch, one after the other, so that only one of them is held twice. */
const trackEnergies = async (
  { session, plan, planOf, ask }: LedgerStudio,
  frames: Frames,
  asking: Asking,
): Promise<[string, number][]> => {
  const { sources } = planOf(session);
  const energies: [string, number][] = [];
  for (const [n, { id, startFrame }] of plan.sources.entries()) {
    const sound = sources.get(id)!;
    const whole = { ...sound, channels: placed(sound, startFrame, plan.soundFrames) };
    const part = (TRACKS - RECEIVED) / plan.sources.length;
    const told = askingFor(asking, RECEIVED + n * part, RECEIVED + (n + 1) * part);
    energies.push([id, await ask({ part: 'energy', audio: copied(whole, frames) }, told)]);
  }
  return energies;
};

/**
 * What every path does to the mix over a stretch, and where its loudness comes from. Rejects with one clear sentence, or with
 * the signal's reason.
 */
export const ledgerBy = async (
  { section }: LedgerQuestion,
  studio: LedgerStudio,
  asking: Asking = {},
): Promise<StretchLedger> => {
  const { plan, ask } = studio;
  const frames = stretchIn(section, plan);
  const whole = { from: 0, to: plan.soundFrames };
  const groups = (await studio.received(asking.signal)).paths;
  asking.signal?.throwIfAborted();
  const tracks = await trackEnergies(studio, frames ?? whole, asking);
  const received = [...groups].map(([id, audio]) => ({ id, audio: copied(audio, whole) }));
  const { ledger, energies } = await ask(
    { part: 'paths', received, gains: [...gainsOf(plan)], soundFrames: plan.soundFrames, frames },
    askingFor(asking, TRACKS, 1),
  );
  const shares = new Map(ledger.paths.map(({ id, shareOfLoudness }) => [id, shareOfLoudness ?? 0]));
  return { ...ledger, flow: flowOver(flowPlaces(plan), new Map([...tracks, ...energies]), shares) };
};

/** The paths that sound otherwise than those in hand, over the stretch. */
const changedOver = (paths: RenderedPaths, inHand: RenderedPaths, frames: Frames): QueryPath[] =>
  [...paths].flatMap(([id, audio]) =>
    isSameSound(audio, inHand.get(id)) ? [] : [{ id, audio: copied(audio, frames) }],
  );

/** What each processor of a chain does to the mix over a stretch. Rejects as `ledgerBy` does. */
export const processorsBy = async (
  { path, section }: ProcessorsQuestion,
  studio: LedgerStudio,
  asking: Asking = {},
): Promise<readonly ProcessorRow[]> => {
  const { session, plan, paths, planOf, render, strips } = studio;
  const frames = stretchIn(section, plan) ?? { from: 0, to: plan.soundFrames };
  const rounds = heardItems(session, path).length + 1;
  const cache = foundOnly(strips);
  const measured = ({ paths: planned }: Plan, sounds: readonly QueryPath[], told: Asking): Promise<Figures> => {
    const gains = planned.map(({ id, gain }): [string, number] => [id, gain]);
    return studio.ask({ part: 'mix', sounds, gains, soundFrames: plan.soundFrames, frames }, told);
  };
  const mix = await measured(plan, [], askingFor(asking, 0, 1 / rounds));
  return processorRows(session, path, mix, async (without: Session, place) => {
    const [from, to] = [(place + 1) / rounds, (place + 2) / rounds] as const;
    const middle = (from + to) / 2;
    const { plan: planned, sources } = planOf(without);
    const rendered = await render(planned, sources, { cache, ...askingFor(asking, from, middle) });
    asking.signal?.throwIfAborted();
    return measured(planned, changedOver(rendered, paths, frames), askingFor(asking, middle, to));
  });
};
