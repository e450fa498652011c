import type { Sound } from '../../audio/audio.ts';
import type { Range } from '../../audio/range.ts';
import { partOf } from '../../audio/steps.ts';
import type { Song as Surroundings } from '../../render/fit/match-make-up.ts';
import {
  arrivalSteps as summedSteps,
  feedsOf,
  mixBusFeeds,
  stageInputSteps,
  stageOf,
  type Feeds,
  type FrameRange,
  type Stage,
  type StageInput,
} from '../../render/stage-input.ts';
import { channelParts } from '../../render/plan/track-channels.ts';
import { faderGain } from '../../dsp/core/fader-gain.ts';
import { scaled, straight } from '../../dsp/core/gain-matrix.ts';
import { ROUGH } from '../../session/graph.ts';
import { chainOf, MIX } from '../../session/chain/chain-edits.ts';
import { itemOf } from '../../session/chain/chain-items.ts';
import type { ProcessorItem, Session } from '../../session/schema.ts';
import { framesIn } from '../excerpt.ts';
import type { StageQuestion } from '../questions.ts';
import type { Workshop } from '../workshop.ts';

/** A question about one processor of a chain. */
export type StageTask = Omit<StageQuestion, 'kind'>;

const NOT_RENDERED = 'Its input is still being rendered: ask again in a moment.';

/** The input of a chain, from kept strips; null while one of them is missing. */
const feedsOfChain = ({ song, mix: { session, plan, paths } }: Workshop, path: string): Feeds | null => {
  if (path === MIX) return mixBusFeeds(plan, paths);
  const { sources } = song.planned(session);
  const strip = plan.strips.find(({ id }) => id === path);
  if (strip) return feedsOf(plan, strip, sources, song.strips);
  return sourceFeeds(session, path, path === ROUGH ? song.roughOf(session) : (sources.get(path) ?? null));
};

/** The input of the chain of a track or the rough that has no strip, as all its processors are off; null: there is no sound. */
const sourceFeeds = (session: Session, id: string, audio: Sound | null): Feeds | null => {
  if (!audio) return null;
  const { sampleRate } = session;
  const track = session.tracks.find((each) => each.id === id);
  if (!track) return { sampleRate, inputs: [{ audio, gains: straight(1), start: 0 }], keys: [] };
  const { start, parts } = channelParts(track, audio.channels.length, sampleRate);
  const level = faderGain(track.gainDb);
  const inputs = parts.map(({ gains, late }) => ({ audio, gains: scaled(gains, level), start: start + late }));
  return { sampleRate, inputs, keys: [] };
};

/** The frames of a range of the song; null: all of it, until its last tail has died away. */
export const stretchOf = ({ mix: { plan } }: Workshop, range: Range | null): FrameRange => {
  const { from, to } = framesIn(range, plan.sampleRate) ?? { from: 0, to: plan.soundFrames };
  return { from, to: Math.max(from, Math.min(to, plan.frames)) };
};

/**
 * The input of the chain of a group, a bus or MIX over frames of the song; each step yields the part done, 0..1.
 * @throws Error with one clear sentence while it is not rendered
 */
export function* arrivalSteps(workshop: Workshop, path: string, range: FrameRange): Generator<number, StageInput> {
  const feeds = feedsOfChain(workshop, path);
  if (!feeds) throw new Error(NOT_RENDERED);
  return yield* summedSteps(feeds, range);
}

/** Tempo, meter and other data of the session that chains depend on. */
export const surroundingsOf = ({ song, session }: Workshop): Surroundings => ({
  ...{ tempo: session.tempo, meter: session.meter },
  sounds: song.processorSounds(session),
});

/** The input of one processor. */
interface ComingTo {
  readonly item: ProcessorItem;
  readonly stage: Stage;
  readonly input: StageInput;
  /** Frames before the range, for the chain to settle. */
  readonly leadFrames: number;
}

/** The input of a processor over a range, and for at most `leadSeconds` before it; as `arrivalSteps`. */
export function* comingToSteps(
  workshop: Workshop,
  { path, item: id, range }: StageTask,
  leadSeconds: number,
): Generator<number, ComingTo> {
  const chain = chainOf(workshop.session, path);
  const stage = stageOf(chain, id, surroundingsOf(workshop));
  if (!stage) throw new Error(NOT_RENDERED);
  const { from, to } = stretchOf(workshop, range);
  const leadFrames = Math.min(from, leadSeconds * workshop.mix.plan.sampleRate);
  const arrival = yield* partOf(arrivalSteps(workshop, path, { from: from - leadFrames, to }), 0, 0.2);
  const input = yield* partOf(stageInputSteps(arrival, stage), 0.2, 1);
  return { item: itemOf(chain, id) as ProcessorItem, stage, input, leadFrames };
}
