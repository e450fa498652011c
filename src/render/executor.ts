import { wholeOf, type Audio, type Sound } from '../audio/audio.ts';
import { placedSamples } from '../audio/samples.ts';
import { movingText } from '../dsp/core/moving-gains.ts';
import { movedSound } from './moved-sound.ts';
import type { Plan, PlanPath, PlanStrip } from './plan/plan.ts';
import type { Sources } from './plan/sources.ts';
import type { SoundRoom } from './store/room.ts';
import type { StripCache, StripSound } from './strip-cache.ts';

/** A store of rendered strips. */
export type Strips = Pick<StripCache, 'get' | 'set'>;

/** A store that is read but not written: a render beside the current mix must not push out the strips of that mix. */
export const foundOnly = (strips: Pick<Strips, 'get'>): Strips => ({
  get: (key) => strips.get(key),
  set: () => {},
});

export interface RenderOptions {
  /** Strips rendered before; found by content key, so a strip whose inputs and settings are the same is not run again. */
  readonly cache?: Strips;
  /** Where what is rendered is kept: in memory where none is named. */
  readonly room?: SoundRoom;
  /** Called with the share done, 0..1. */
  readonly onProgress?: (done: number) => void;
  /** Stops the render: the promise is rejected with the signal's reason. */
  readonly signal?: AbortSignal;
  /** Called once it has begun, where there is something to run. */
  readonly onBegun?: (growing: GrowingPaths) => void;
  /**
   * Name of a row of renders that follow one another, in the same room: what one that was stopped has not done, the next goes on with
   * where it wants the same, and what two of them want at the same time is run once.
   */
  readonly follows?: string;
  /** Renders of this name that go on at the same time advance together through the song: they are heard together. */
  readonly abreast?: string;
  /** Only this stretch is run, in the strips' own time; they begin in rest. What lies before and after it is silent. */
  readonly part?: RenderPart;
}

/** A stretch of a render: a strip's frame n is frame n less its latency of the song. */
export interface RenderPart {
  readonly from: number;
  readonly to: number;
}

/**
 * The rendered paths by id: stereo, plan.frames long, latency taken off, so all of them are aligned with the song; under the lines of their
 * levels, so that what sums, plays or measures them needs to know nothing of those.
 */
export type RenderedPaths = ReadonlyMap<string, Sound>;

/** Paths that are being rendered: the same objects as once they are done. What is not there yet reads as silence. */
export interface GrowingPaths {
  readonly paths: RenderedPaths;
  /** Frames of a path that are there, from the start of the song; Infinity: all. */
  readonly reach: (id: string) => number;
}

/** Realises a plan. Web Audio and direct executors give the same sound (below -140 dBFS). */
export type Executor = (plan: Plan, sources: Sources, options?: RenderOptions) => Promise<RenderedPaths>;

/** Room for latency grows in steps of this, frames, so that a longer look-ahead spares the cache. */
const LATENCY_QUANTUM = 8192;

/** Frames that a strip must run to fill every path of the plan after its latency is taken off. */
export const runFrames = (plan: Plan): number => {
  const latency = Math.max(0, ...plan.strips.map((strip) => strip.latency));
  return plan.frames + Math.ceil(latency / LATENCY_QUANTUM) * LATENCY_QUANTUM;
};

/** Key of a strip's sound in this plan: what it depends on, and how long it runs. */
export const cacheKey = (plan: Plan, strip: PlanStrip): string => `${strip.key}:${runFrames(plan)}`;

const movesOf = ({ moving }: PlanPath): string => (moving ? movingText(moving) : '');

/** Text of all that the paths of a plan depend on; equal text, equal sound. */
export const soundOf = (plan: Plan): string => {
  const strips = plan.strips.map((strip) => `${strip.id} ${cacheKey(plan, strip)}`);
  return [plan.frames, ...strips, ...plan.paths.map(movesOf)].join('\n');
};

/** The strips that a render must run, in plan order, and those that it finds in the cache instead. */
export const divide = (
  plan: Plan,
  cache: Strips | undefined,
): { run: readonly PlanStrip[]; known: Map<string, StripSound> } => {
  const wanted = new Set(plan.paths.map(({ id }) => id));
  const known = new Map<string, StripSound>();
  const run: PlanStrip[] = [];
  for (const strip of [...plan.strips].reverse()) {
    if (!wanted.has(strip.id)) continue;
    const sound = cache?.get(cacheKey(plan, strip));
    if (sound) {
      known.set(strip.id, sound);
      continue;
    }
    run.unshift(strip);
    for (const ref of strip.from) if (ref.kind === 'strip') wanted.add(ref.id);
  }
  return { run, known };
};

/** Views on a strip's sound that are remembered: of the mix, of the mix as received, and of passes. */
const VIEWS = 6;

/** Paths by the strip's sound that they are views on, and by what they are of it. */
const views = new WeakMap<StripSound, Map<string, Sound>>();

/** The part of a strip's output that lies in the song, as a view: the same object as long as it sounds the same. */
const pathSound = (plan: Plan, path: PlanPath, { latency }: PlanStrip, sound: StripSound): Sound => {
  const known = views.get(sound) ?? new Map<string, Sound>();
  views.set(sound, known);
  const name = `${latency} ${plan.frames} ${movesOf(path)}`;
  const before = known.get(name);
  if (before) return before;
  const channels = [sound.left, sound.right].map((channel) => placedSamples(channel, -latency, plan.frames));
  const still = { sampleRate: plan.sampleRate, channels };
  const view = path.moving ? movedSound(still, path.moving) : still;
  if (known.size >= VIEWS) known.delete(known.keys().next().value!);
  known.set(name, view);
  return view;
};

/** The paths of a plan out of its strips' sounds. */
export const pathsFrom = (plan: Plan, sounds: ReadonlyMap<string, StripSound>): RenderedPaths => {
  const strips = new Map(plan.strips.map((strip) => [strip.id, strip]));
  return new Map(
    plan.paths.map((path) => [path.id, pathSound(plan, path, strips.get(path.id)!, sounds.get(path.id)!)]),
  );
};

/** Paths in memory, as what is played and sent to other workers must be. */
export const pathsInMemory = (paths: RenderedPaths): ReadonlyMap<string, Audio> =>
  new Map([...paths].map(([id, sound]) => [id, wholeOf(sound)]));
