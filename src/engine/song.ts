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
import { callbackJob, type Job } from './job.ts';

/** Open sounds by their file names in sessions. */
export interface Sounds {
  /** The sound at this rate; always the same object, so that results can be stored by it. null: missing. */
  readonly at: (file: string, sampleRate: number) => Sound | null;
}

/** The plan of a session, and the sound of its tracks. */
export interface Planned {
  readonly plan: Plan;
  readonly sources: Sources;
}

/** A session rendered. */
export interface Mix {
  readonly session: Session;
  /** Rendered paths, with their length as known after rendering. */
  readonly plan: Plan;
  readonly paths: RenderedPaths;
}

/** How a running render is played, and resumed. */
type Growth = Pick<RenderOptions, 'onBegun' | 'follows' | 'abreast' | 'part'>;

/** How long rendered strips are kept. */
export type Keeping =
  /** Kept where `keepOnly` names their plan, else as long as memory allows. */
  | 'kept'
  /** Not kept: existing strips are used, and not displaced. */
  | 'beside';

/** A sound moved in time by `seconds`, whole at its end (the rough's offset). */
export function shifted(sound: Audio, seconds: number): Audio;
export function shifted(sound: Sound, seconds: number): Sound;
export function shifted(sound: Sound, seconds: number): Sound {
  const offset = Math.round(seconds * sound.sampleRate);
  return placedSound(sound, offset, Math.max(1, framesOf(sound) + offset));
}

/** Plans and renders sessions that name the same sounds; all rendering goes through it. */
export class Song {
  /** Strips rendered earlier. */
  readonly strips = new StripCache();
  private plans = new WeakMap<Session, Planned>();
  private readonly alone = new WeakMap<Session, Session>();
  private readonly solos = new WeakMap<Session, { readonly key: string; readonly sounding: Session }>();
  private rough: { readonly sound: Sound; readonly offset: number; readonly moved: Sound } | null = null;

  /** `check` is called before a session is rendered; it may throw. */
  constructor(
    private readonly sounds: Sounds,
    private readonly executor: Executor,
    private readonly check: (session: Session, planned: Planned) => void = () => {},
    /** Room for rendered and printed sound. */
    readonly room: SoundRoom = memoryRoom,
  ) {}

  /** To be called when sounds were added or removed: earlier plans are then invalid. */
  soundsChanged(): void {
    this.plans = new WeakMap();
  }

  /** The plan of a session with the open sounds; tracks whose sound is missing are left out, and the rough where it feeds nothing. */
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

  /** Sounds that processors of the session use, by file; unusable ones are left out. */
  processorSounds(session: Session): ReadonlyMap<string, StereoSound> {
    const sounds = chainFilesOf(session).flatMap(({ file }) => {
      const sound = this.sounds.at(file, session.sampleRate);
      return sound && !soundProblem(file, secondsOf(sound)) ? [[file, sound] as const] : [];
    });
    return processorSounds(new Map(sounds));
  }

  /**
   * The rough as compared with the mix: at the session's rate, moved by its offset, mono on both channels. The same
   * object as long as the sound is the same; null: there is none.
   */
  roughOf({ rough, sampleRate }: Session): Sound | null {
    const sound = rough && this.sounds.at(rough.file, sampleRate);
    if (!sound) return null;
    if (this.rough?.sound !== sound || this.rough.offset !== rough.offsetSeconds) {
      this.rough = { sound, offset: rough.offsetSeconds, moved: onBothSides(shifted(sound, rough.offsetSeconds)) };
    }
    return this.rough.moved;
  }

  /** Renders a session. Throws errors of the executor or the check. */
  async *rendered(session: Session, keeping: Keeping = 'beside', growth: Growth = {}): Job<Mix> {
    const { plan } = this.planned(session);
    const paths = yield* this.run(session, plan, keeping === 'kept' ? this.strips : foundOnly(this.strips), growth);
    return { session, plan: settledPlan(plan, paths), paths };
  }

  /** The session rendered up to this frame of the song; up to there it equals the whole. */
  async *renderedUntil(session: Session, frame: number): Job<Mix> {
    const { plan } = this.planned(session);
    const part = planUntil(plan, frame);
    return { session, plan, paths: yield* this.run(session, part, stripsUntil(plan, part, this.strips)) };
  }

  /**
   * The paths of a session over a section only, whole where they are already rendered. Strips
   * that are run for this start from silence some seconds before the section. Nothing of it is kept.
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

  /** A session that differs from that of `before` only in gains or the mix bus: with the same paths, if none sounds different. */
  async *renderedAfter(session: Session, before: Mix, until?: number): Job<Mix> {
    const { plan } = this.planned(session);
    if (soundOf(plan) !== soundOf(before.plan))
      return yield* until === undefined ? this.rendered(session) : this.renderedUntil(session, until);
    const { paths } = before;
    return { session, plan: until === undefined ? settledPlan(plan, paths) : plan, paths };
  }

  /** The session as received; always the same object. */
  asReceived(session: Session): Session {
    const known = this.alone.get(session) ?? asReceived(session);
    this.alone.set(session, known);
    return known;
  }

  /** The session with these tracks and paths soloed; the mix as received is not soloed. Always the same object. */
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

  /** Keeps the strips of these plans; strips of others are dropped, the oldest first. */
  keepOnly(...plans: readonly Plan[]): void {
    this.strips.keep(new Set(plans.flatMap((plan) => plan.strips.map((strip) => cacheKey(plan, strip)))));
  }

  private run(session: Session, plan: Plan, cache: Strips, growth: Growth = {}): Job<RenderedPaths> {
    const planned = this.planned(session);
    this.check(session, planned);
    return callbackJob(({ tell, signal }) =>
      this.executor(plan, planned.sources, { ...growth, cache, signal, room: this.room, onProgress: tell }),
    );
  }
}
