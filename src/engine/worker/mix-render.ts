import type { Sound } from '../../audio/audio.ts';
import type { GrowingPaths, RenderedPaths } from '../../render/executor.ts';
import type { Plan } from '../../render/plan/plan.ts';
import { splicedSound } from '../../render/section.ts';
import type { Session } from '../../session/schema.ts';
import type { Frames } from '../excerpt.ts';
import { filesOf } from '../files-of-session.ts';
import { answerOf } from '../job.ts';
import type { Song } from '../song.ts';
import type { SoundLibrary } from '../sound-library.ts';
import { missingFiles, refusalOf } from './files-in-hand.ts';
import { GrowingMix, RENDERED_TOGETHER } from './growing-mix.ts';
import { HeardSection } from './heard-section.ts';
import { LONGEST_SECTION_SECONDS, type LiveDesk } from './live-desk.ts';
import type { Measuring } from './measuring.ts';
import { IDLE_STATE, type Outbox } from './outbox.ts';
import { hasSamePaths } from './question-desk.ts';
import type { ReceivedMix } from './received-mix.ts';
import type { RenderedMix } from './rendered-mix.ts';

/** A section is rendered first only if it is shorter than the song by at least this factor; otherwise little time is gained. */
const SHORT_SECTION = 3;

/** Parts of the engine that a render uses. */
interface RenderParts {
  readonly library: SoundLibrary;
  readonly song: Song;
  readonly outbox: Outbox;
  readonly received: ReceivedMix;
  readonly live: LiveDesk;
  /** Takes the rendered mix. */
  readonly mix: RenderedMix;
  readonly measuring: Measuring;
  /** Frames already rendered of sounds that are being rendered. */
  readonly reaches: WeakMap<Sound, () => number>;
  /** The current session. */
  newest(): Session;
  /** Called when the section at the playhead is rendered and playing. */
  onHeard(): void;
  /** Called when playback is elsewhere, where old sound would be heard until all is rendered. */
  onLeft(): void;
}

/** Renders the current session: first the section at the playhead; the whole can be played while it is rendered. */
export class MixRender {
  private readonly section: HeardSection;

  constructor(private readonly parts: RenderParts) {
    this.section = new HeardSection(() => parts.onLeft());
  }

  /** Playback has jumped: reports it if the new position is outside of the section that was rendered first. */
  moved(): void {
    const { mix, live } = this.parts;
    if (mix.heard) this.section.look(live.listenedTo(mix.heard.plan.sampleRate));
  }

  /** Renders, unless files are missing or a sound is unusable; rejects with the error that stopped it. */
  async render(signal: AbortSignal, onPart: (part: number) => void): Promise<void> {
    const { library, song, outbox, mix } = this.parts;
    this.section.end();
    const session = this.parts.newest();
    const missing = missingFiles(library, session);
    outbox.view({ missing });
    if (missing.length > 0 || filesOf(session).length === 0) {
      outbox.state(IDLE_STATE);
      mix.putDown(session);
      return;
    }
    mix.offerNewRough(session);
    const refusal = refusalOf(library, song, session);
    if (refusal !== null) {
      outbox.state({ phase: 'failed', progress: 0, message: refusal });
      return;
    }
    const { plan } = song.planned(session);
    const rough = song.roughOf(session);
    const progress = this.progressFor(signal, onPart);
    progress.tell(0);
    outbox.mixBus(plan.mixBus);
    if (plan.sources.length === 0) {
      mix.finish(session, { plan, paths: new Map(), received: null, rough });
      return;
    }
    const asCame = song.planned(song.asReceived(session)).plan;
    song.keepOnly(plan, asCame, ...(mix.rendered ? [mix.rendered.plan] : []));
    progress.isHeardFirst = await this.renderWhereHeard(session, plan, signal);
    const growing = this.growing(plan, rough, signal);
    const rendering = this.renderPaths(session, growing, signal, (part) => progress.tell(0.9 * part));
    const receiving = this.parts.received.of(session, signal, growing);
    const [{ plan: settled, paths }, received] = await Promise.all([rendering, receiving]);
    signal.throwIfAborted();
    this.section.end();
    song.keepOnly(plan, asCame);
    const rendered = { plan: settled, paths, received, rough };
    const newest = this.parts.newest();
    if (session === newest) mix.finish(session, rendered);
    else mix.hearOvertaken(newest, rendered);
  }

  /** Reports the part done and the kind of render. */
  private progressFor(signal: AbortSignal, onPart: (part: number) => void) {
    const { outbox, mix } = this.parts;
    const progress = {
      isHeardFirst: false,
      tell: (part: number): void => {
        // After a cancel a report may still arrive.
        if (signal.aborted) return;
        onPart(part);
        const what = progress.isHeardFirst ? 'Rendering the rest of the song' : 'Rendering what changed';
        outbox.state({ phase: 'rendering', progress: part, message: mix.rendered ? what : 'Preparing the song' });
      },
    };
    return progress;
  }

  private renderPaths(session: Session, growing: GrowingMix, signal: AbortSignal, onPart: (part: number) => void) {
    const onBegun = (begun: GrowingPaths): void => {
      for (const [id, path] of begun.paths) this.parts.reaches.set(path, () => begun.reach(id));
      growing.begun(begun);
    };
    const onProgress = (part: number): void => {
      onPart(part);
      growing.look();
    };
    const job = this.parts.song.rendered(session, 'kept', { follows: 'mix', abreast: RENDERED_TOGETHER, onBegun });
    return answerOf(job, { signal, onProgress });
  }

  /** Renders the section at the playhead and the section in loop first, where the whole would take long. Returns whether it can then be played. */
  private async renderWhereHeard(session: Session, plan: Plan, signal: AbortSignal): Promise<boolean> {
    const { live, mix, measuring, outbox } = this.parts;
    const { heard } = mix;
    if (!heard || !hasSamePaths(plan, heard.plan)) return false;
    const listenedTo = live.listenedTo(plan.sampleRate);
    const loop = measuring.loopFrames(plan.sampleRate);
    const longest = Math.min(plan.frames / SHORT_SECTION, LONGEST_SECTION_SECONDS * plan.sampleRate);
    const isShort = (span: Frames): boolean => span.to - span.from <= longest;
    const span = [listenedTo, loop].find((each) => each && isShort(each));
    if (!span) return false;
    const isHeard = span === listenedTo;
    if (isHeard) outbox.state({ phase: 'rendering', progress: 0, message: 'Rendering where you listen' });
    const began = performance.now();
    const { paths, run } = await answerOf(this.parts.song.renderedSection(session, span), { signal });
    signal.throwIfAborted();
    if (run.size === 0) return false;
    const isLoopThere = loop && loop.from >= span.from && loop.to <= span.to;
    const figures = isLoopThere ? measuring.early(paths, plan) : Promise.resolve();
    if (isHeard) this.hearSection(plan, paths, run, span, (performance.now() - began) / 1000);
    // The rest of the song would take the processors from what is waited for.
    await figures;
    signal.throwIfAborted();
    return isHeard;
  }

  /** Has a section be heard between the sound from before. `took`: time to render it, seconds. */
  private hearSection(plan: Plan, paths: RenderedPaths, run: ReadonlySet<string>, span: Frames, took: number): void {
    const { live, mix, outbox } = this.parts;
    const heard = mix.heard!;
    const spliced = [...paths].map(([id, path]) => {
      const before = heard.paths.get(id);
      return [id, before && run.has(id) ? splicedSound(before, path, span) : path] as const;
    });
    const seconds = (span.to - span.from) / plan.sampleRate;
    this.section.begin(span, seconds, took, live.isInLoop(span));
    outbox.hearable({ ...heard, plan, paths: new Map(spliced) }, mix.seconds, true);
    this.parts.onHeard();
  }

  /** The playable part of the first render of a song while it runs. */
  private growing(plan: Plan, rough: Sound | null, signal: AbortSignal): GrowingMix {
    const { mix } = this.parts;
    const isFirst = mix.rendered === null;
    return new GrowingMix(
      plan,
      rough,
      (grown, levels) => mix.grow(grown, levels),
      () => !isFirst || signal.aborted || mix.rendered !== null,
    );
  }
}
