import {
  framesOf,
  onBothSides,
  placedSound,
  secondsOf,
  type Audio,
  type Sound,
  type StereoSound,
} from '../audio/audio.ts';
import {
  cacheKey,
  divide,
  foundOnly,
  soundOf,
  type Executor,
  type RenderedPaths,
  type RenderOptions,
  type Strips,
} from '../render/executor.ts';
import { asReceived, makePlan } from '../render/plan/make-plan.ts';
import { planUntil, stripsUntil } from '../render/plan/plan-until.ts';
import type { Plan } from '../render/plan/plan.ts';
import { settledPlan } from '../render/print.ts';
import { factsOf, processorSounds, soundProblem, type Sources } from '../render/plan/sources.ts';
import { memoryRoom, type SoundRoom } from '../render/store/room.ts';
import { partFor } from '../render/section.ts';
import { StripCache } from '../render/strip-cache.ts';
import { ROUGH } from '../session/graph.ts';
import type { Session } from '../session/schema.ts';
import { soloed } from '../session/solo.ts';
import { chainFilesOf } from '../session/sound-files.ts';
import type { Frames } from './excerpt.ts';
import { tellingJob, type Job } from './job.ts';

/** Sounds in hand by the file that sessions call them. */
export interface Sounds {
  /** At this rate; the same object each time, so that what is made of it can be kept. null: it is not in hand. */
  readonly at: (file: string, sampleRate: number) => Sound | null;
}

/** A session as it is to be rendered, and the sound of its tracks. */
export interface Planned {
  readonly plan: Plan;
  readonly sources: Sources;
}

/** A session rendered. */
export interface Mix {
  readonly session: Session;
  /** As long as it turned out to be. */
  readonly plan: Plan;
  readonly paths: RenderedPaths;
}

/** How a render is heard while it is under way, and gone on with. */
export type Growth = Pick<RenderOptions, 'onBegun' | 'follows' | 'abreast' | 'part'>;

/** What becomes of strips that are rendered. */
export type Keeping =
  /** They are kept where `keepOnly` names their plan, else as long as there is room. */
  | 'kept'
  /** They are let go: strips that are kept are found, and not pushed out. */
  | 'beside';

/** Moves a sound in time, seconds, keeping its end in place: what the rough's offset means. */
export function shifted(sound: Audio, seconds: number): Audio;
export function shifted(sound: Sound, seconds: number): Sound;
export function shifted(sound: Sound, seconds: number): Sound {
  const offset = Math.round(seconds * sound.sampleRate);
  return placedSound(sound, offset, Math.max(1, framesOf(sound) + offset));
}

/** Turns sessions that name the same sounds into sound: the one way from a session to what is rendered of it. */
export class Song {
  /** Strips rendered before. */
  readonly strips = new StripCache();
  private plans = new WeakMap<Session, Planned>();
  private readonly alone = new WeakMap<Session, Session>();
  private readonly solos = new WeakMap<Session, { readonly key: string; readonly sounding: Session }>();
  private rough: { readonly sound: Sound; readonly offset: number; readonly moved: Sound } | null = null;

  /** `check` is asked before a session is rendered; it may throw. */
  constructor(
    private readonly sounds: Sounds,
    private readonly executor: Executor,
    private readonly check: (session: Session, planned: Planned) => void = () => {},
    /** Where what is rendered and printed is kept. */
    readonly room: SoundRoom = memoryRoom,
  ) {}

  /** To be called when sounds came or went: plans that were made without them hold no more. */
  soundsChanged(): void {
    this.plans = new WeakMap();
  }

  /** The plan of a session with the sounds in hand; tracks without one are left out, and the rough where it feeds nothing. */
  planned(session: Session): Planned {
    const known = this.plans.get(session);
    if (known) return known;
    const { rough, tracks } = session;
    const named = [...tracks, ...(rough && rough.sends.length > 0 ? [{ id: ROUGH, file: rough.file }] : [])];
    const sources: Sources = new Map(
      named.flatMap(({ id, file }) => {
        const sound = this.sounds.at(file, session.sampleRate);
        return sound ? [[id, sound] as const] : [];
      }),
    );
    const plan = makePlan(session, factsOf(sources), this.processorSounds(session));
    const planned = { plan, sources };
    this.plans.set(session, planned);
    return planned;
  }

  /** What processors of the session work with, by file; what they cannot work with is left out. */
  processorSounds(session: Session): ReadonlyMap<string, StereoSound> {
    const sounds = chainFilesOf(session).flatMap(({ file }) => {
      const sound = this.sounds.at(file, session.sampleRate);
      return sound && !soundProblem(file, secondsOf(sound)) ? [[file, sound] as const] : [];
    });
    return processorSounds(new Map(sounds));
  }

  /**
   * The rough as it is heard beside the mix: at the session's rate, moved by its offset, one channel on both sides. The same
   * object as long as it is the same sound; null: there is none.
   */
  roughOf({ rough, sampleRate }: Session): Sound | null {
    const sound = rough && this.sounds.at(rough.file, sampleRate);
    if (!sound) return null;
    if (this.rough?.sound !== sound || this.rough.offset !== rough.offsetSeconds) {
      this.rough = { sound, offset: rough.offsetSeconds, moved: onBothSides(shifted(sound, rough.offsetSeconds)) };
    }
    return this.rough.moved;
  }

  /** Renders a session. Throws what the executor or the check throws. */
  async *rendered(session: Session, keeping: Keeping = 'beside', growth: Growth = {}): Job<Mix> {
    const { plan } = this.planned(session);
    const paths = yield* this.run(session, plan, keeping === 'kept' ? this.strips : foundOnly(this.strips), growth);
    return { session, plan: settledPlan(plan, paths), paths };
  }

  /** The session rendered no further than to this frame of the song: until there it sounds as the whole does. */
  async *renderedUntil(session: Session, frame: number): Job<Mix> {
    const { plan } = this.planned(session);
    const part = planUntil(plan, frame);
    return { session, plan, paths: yield* this.run(session, part, stripsUntil(plan, part, this.strips)) };
  }

  /**
   * What of a session is not rendered yet, over a section alone: its paths, as they are there, and whole where they are known. Those
   * that were run begin in rest some seconds before. Nothing of it is kept.
   */
  async *renderedSection(
    session: Session,
    span: Frames,
  ): Job<{ readonly paths: RenderedPaths; readonly run: ReadonlySet<string> }> {
    const { plan } = this.planned(session);
    const { run } = divide(plan, this.strips);
    const paths = yield* this.run(session, plan, foundOnly(this.strips), { part: partFor(plan, run, span) });
    return { paths, run: new Set(run.map(({ id }) => id)) };
  }

  /** A session that differs from that of `before` in its mix alone: its paths as they are where none sounds otherwise. */
  async *renderedAfter(session: Session, before: Mix, until?: number): Job<Mix> {
    const { plan } = this.planned(session);
    if (soundOf(plan) !== soundOf(before.plan))
      return yield* until === undefined ? this.rendered(session) : this.renderedUntil(session, until);
    const { paths } = before;
    return { session, plan: until === undefined ? settledPlan(plan, paths) : plan, paths };
  }

  /** The session as it was received; the same object each time. */
  asReceived(session: Session): Session {
    const known = this.alone.get(session) ?? asReceived(session);
    this.alone.set(session, known);
    return known;
  }

  /** The session as it sounds while these tracks and paths are soloed; as received it is the whole. The same object each time. */
  soloed(session: Session, ids: readonly string[]): Session {
    if (ids.length === 0) return session;
    const key = ids.join(' ');
    const known = this.solos.get(session);
    if (known?.key === key) return known.sounding;
    const sounding = soloed(session, ids);
    this.alone.set(sounding, this.asReceived(session));
    this.solos.set(session, { key, sounding });
    return sounding;
  }

  /** The tracks of a session alone: no chains, no buses, faders at 0 dB. */
  received(session: Session, keeping: Keeping = 'beside', growth: Growth = {}): Job<Mix> {
    return this.rendered(this.asReceived(session), keeping, growth);
  }

  /** Strips of these plans stay; what was rendered of others is let go, the oldest first. */
  keepOnly(...plans: readonly Plan[]): void {
    this.strips.keep(new Set(plans.flatMap((plan) => plan.strips.map((strip) => cacheKey(plan, strip)))));
  }

  private run(session: Session, plan: Plan, cache: Strips, growth: Growth = {}): Job<RenderedPaths> {
    const planned = this.planned(session);
    this.check(session, planned);
    return tellingJob(({ tell, signal }) =>
      this.executor(plan, planned.sources, { ...growth, cache, signal, room: this.room, onProgress: tell }),
    );
  }
}
