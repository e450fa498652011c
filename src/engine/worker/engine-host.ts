import type { Sound } from '../../audio/audio.ts';
import { passIn } from '../../audition/heard.ts';
import type { PrintedSong } from '../../files/print/print-song.ts';
import { heardLoudnessSteps } from '../../measure/heard.ts';
import { settledPlan } from '../../render/print.ts';
import { memoryRoom, type SoundRoom } from '../../render/store/room.ts';
import { WorkerRenderer } from '../../render/worker-renderer.ts';
import type { Session } from '../../session/schema.ts';
import type { AudioFileFacts, AudioFiles, EngineState, Heard, PrintOptions, Range } from '../engine.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import { allFilesOf } from '../files-of-session.ts';
import { plainSentence } from '../message.ts';
import type { Answers, Asking, Question } from '../questions.ts';
import { inSlices } from '../slices.ts';
import { Song } from '../song.ts';
import { factsOfSound, SoundLibrary } from '../sound-library.ts';
import { chainSounds, missingFiles, refusalOf } from './files-in-hand.ts';
import type { LevelsAsked } from './level-answers.ts';
import { LiveDesk } from './live-desk.ts';
import { liveSoundFor } from './live-sounds.ts';
import { Measuring } from './measuring.ts';
import { measuringMessages } from './measuring-messages.ts';
import { MixRender } from './mix-render.ts';
import { Outbox, IDLE_STATE } from './outbox.ts';
import { PassPrints, type Studio } from './pass-prints.ts';
import type { EngineMessage } from './protocol.ts';
import { hasSamePaths, QuestionDesk, sameSound } from './question-desk.ts';
import { ReceivedMix } from './received-mix.ts';
import { RenderedMix } from './rendered-mix.ts';
import { RenderPace } from './render-pace.ts';
import { SoundFeed } from './sound-feed.ts';

/** The engine in the worker: opens files and sessions, renders, measures, and answers questions. */
export class EngineHost {
  private session: Session | null = null;
  private edition = 0;
  private isPlaying = false;
  private isReading = false;
  /** Frames already rendered of sounds that are being rendered. */
  private readonly reaches = new WeakMap<Sound, () => number>();
  private work = new AbortController();

  private readonly renderer = new WorkerRenderer(navigator.hardwareConcurrency);
  private readonly pace = new RenderPace((signal, onPart) => this.renderNewest(signal, onPart));
  private readonly outbox: Outbox;
  private readonly library: SoundLibrary;
  private readonly song: Song;
  private readonly measuring: Measuring;
  private readonly prints: PassPrints;
  private readonly questions: QuestionDesk;
  private readonly live: LiveDesk;
  private readonly mix: RenderedMix;
  private readonly mixRender: MixRender;

  constructor(
    tell: (message: EngineMessage) => void,
    /** The store of sound. */
    room: SoundRoom = memoryRoom,
  ) {
    const { render } = this.renderer;
    const { reaches } = this;
    const outbox = (this.outbox = new Outbox(tell, () => this.edition));
    const library = (this.library = new SoundLibrary(room));
    const song = (this.song = new Song(library, render, undefined, room));
    const told = measuringMessages(outbox, {
      settled: () => {
        if (this.mix.measuredOf === this.session) outbox.tell({ kind: 'settled', edition: this.edition });
      },
      failed: (error) => this.fail('Measuring', error),
    });
    const measuring = (this.measuring = new Measuring(song, told, () => this.questions.isOpen));
    const received = new ReceivedMix(song, reaches, (groups) => measuring.groups(groups));
    const studio: Studio = {
      cache: song.strips,
      render,
      room,
      planOf: (session) => song.planned(session),
      missingFiles: (session) => missingFiles(library, { ...session, rough: null }),
    };
    const prints = (this.prints = new PassPrints(studio, () => outbox.prints(prints, this.mix.seconds)));
    this.questions = new QuestionDesk({
      song,
      inHand: () => this.session && this.mix.rendered && { session: this.session, rendered: this.mix.rendered },
      known: () => measuring.known,
      soundOf: (side) => this.sideSound(side),
    });
    const live = (this.live = new LiveDesk({
      rendered: () => this.mix.heard?.plan ?? null,
      soundFor: (ref) => this.session && this.mix.heard && liveSoundFor(song, this.session, this.mix.heard, ref),
      refsOf: (sounds) => outbox.liveRefs(sounds),
      played: () => outbox.played,
      tell: (path, note) => outbox.live(path, note),
      edition: () => this.edition,
      moved: () => this.mixRender.moved(),
    }));
    const mix = (this.mix = new RenderedMix({ song, outbox, measuring, received, prints, live }));
    const fromHere = {
      newest: () => this.session!,
      onHeard: () => this.pace.heard(),
      onLeft: () => this.pace.now(),
    };
    this.mixRender = new MixRender({ library, song, outbox, received, live, mix, measuring, reaches, ...fromHere });
  }

  private sideSound(side: Heard): Sound | null {
    if (side === 'rough' || side === 'received') return this.mix.heard?.[side] ?? null;
    const pass = passIn(side);
    return pass === null ? this.measuring.print : (this.prints.sounds.get(pass) ?? null);
  }

  private fail(what: string, error: unknown): void {
    const why = plainSentence(error, 'there is a fault in the app; undo the last change, or open the session again.');
    this.outbox.state({ phase: 'failed', progress: 0, message: `${what} stopped: ${why}` });
  }

  /** Begins work that replaces the running work. */
  private begin(edition: number): AbortSignal {
    this.edition = edition;
    this.isReading = false;
    this.pace.stop();
    this.work.abort(new DOMException('replaced by newer work', 'AbortError'));
    this.work = new AbortController();
    return this.work.signal;
  }

  /** Opens a session in place of the last one; `held`: its files that are already open. Rejects as `Engine.open` does. */
  async open(edition: number, session: Session, files: AudioFiles, held: readonly string[] = []): Promise<void> {
    this.take(await this.decode(edition, files));
    // A file of the last song may have the same name as one that is missing in this song.
    const given = new Set([...files.keys(), ...held]);
    this.library.keepOnly(new Set(allFilesOf(session).filter((path) => given.has(path))));
    this.session = session;
    this.mix.clear();
    this.outbox.soundOverviews(chainSounds(this.library, session));
    this.pace.now();
  }

  async addFiles(edition: number, files: AudioFiles): Promise<readonly AudioFileFacts[]> {
    const sounds = await this.decode(edition, files);
    this.take(sounds);
    this.goOn();
    return [...sounds].map(([path, sound]) => factsOfSound(path, sound));
  }

  /** After reading files ended or failed: shows the idle state, and resumes work on the current song, which reading had stopped. */
  private goOn(): void {
    this.outbox.state(this.restingState());
    if (this.session) this.apply(this.edition, this.session);
  }

  /** The state while nothing is read or rendered. */
  private restingState(): EngineState {
    return this.mix.rendered ? { phase: 'ready', progress: 1, message: '' } : IDLE_STATE;
  }

  /** Adds sounds: plans that were made without them are invalid. */
  private take(sounds: ReadonlyMap<string, Sound>): void {
    this.library.take(sounds);
    this.song.soundsChanged();
  }

  /** Reads files, replacing the running work. If it is itself replaced, the newer work sets the state. */
  private async decode(edition: number, files: AudioFiles): Promise<ReadonlyMap<string, Sound>> {
    const signal = this.begin(edition);
    this.isReading = true;
    // Measurements until then do not include these files.
    this.mix.measuredOf = null;
    try {
      const sounds = await this.library.open(
        files,
        (progress, path) => this.outbox.state({ phase: 'loading', progress, message: `Reading ${path}` }),
        signal,
      );
      signal.throwIfAborted();
      this.isReading = false;
      return sounds;
    } catch (error) {
      if (!signal.aborted) this.goOn();
      throw error;
    }
  }

  /**
   * The session after an edit, with its solos. During playback (`isPlaying`) it is rendered while a control is still being
   * moved.
   */
  apply(edition: number, whole: Session, isPlaying = this.isPlaying, solo: readonly string[] = []): void {
    const session = this.song.soloed(whole, solo);
    this.edition = edition;
    this.isPlaying = isPlaying;
    this.session = session;
    this.mix.measuredOf = null;
    const missing = missingFiles(this.library, session);
    if (missing.length > 0) {
      this.begin(edition);
      this.outbox.view({ missing });
      this.mix.offerRough(session);
      return;
    }
    this.outbox.soundOverviews(chainSounds(this.library, session));
    const refusal = refusalOf(this.library, this.song, session);
    if (refusal !== null) {
      this.outbox.state({ phase: 'failed', progress: 0, message: refusal });
      this.begin(edition);
      return;
    }
    this.prints.follow(session);
    const { plan } = this.song.planned(session);
    this.outbox.mixBus(plan.mixBus);
    const isLive = this.live.follow(plan);
    const { rendered } = this.mix;
    if (rendered?.received && sameSound(plan, rendered.plan)) {
      this.begin(edition);
      this.outbox.view({ missing });
      const settled = settledPlan(plan, rendered.paths);
      this.mix.finish(session, { ...rendered, plan: settled, rough: this.song.roughOf(session) });
      return;
    }
    const isHeard = this.isPlaying && rendered !== null && hasSamePaths(plan, rendered.plan);
    if (!isHeard) this.begin(edition);
    this.pace.edited(isHeard, isLive);
  }

  /** Stops reading or rendering. Work on the song that reading had stopped is resumed. */
  cancel(edition: number): void {
    const { isReading } = this;
    this.begin(edition);
    if (isReading) this.goOn();
    else this.outbox.state(this.restingState());
  }

  private async renderNewest(signal: AbortSignal, onPart: (part: number) => void): Promise<void> {
    try {
      await this.mixRender.render(signal, onPart);
    } catch (error) {
      if (!signal.aborted) this.fail('Rendering', error);
    }
  }

  /** The path whose chain is edited; null: none. */
  touch(path: string | null): void {
    this.live.touch(path);
  }

  /** The section in loop; null: none. */
  loop(range: Range | null): void {
    this.measuring.loop(range);
  }

  /** Sends sound to a player through this port. */
  feed(port: MessagePort): SoundFeed {
    const feed = new SoundFeed(
      port,
      (id) => this.soundOf(id),
      (sound) => this.reaches.get(sound)?.() ?? Infinity,
      (report) => this.live.hear(report),
    );
    this.live.connect((order, transfer) => feed.tellLive(order, transfer));
    return feed;
  }

  /** The passes to print. */
  wantPasses(ids: readonly string[]): void {
    this.prints.want(ids);
  }

  askLevels(asked: LevelsAsked): void {
    this.measuring.askLevels(asked);
  }

  /** Loudness of a sound by its reference, LUFS; undefined: it is gone. */
  async loudnessOf(id: number, frames: Frames | null): Promise<number | null | undefined> {
    const sound = this.outbox.sound(id);
    if (!sound) return undefined;
    return inSlices(heardLoudnessSteps(excerptOf(sound, frames)), () => false);
  }

  soundOf(id: number): Sound | null {
    return this.outbox.sound(id);
  }

  ask(question: Question, asking: Asking<unknown>): Promise<Answers[Question['kind']]> {
    return this.questions.ask(question, asking);
  }

  print(options: PrintOptions): Promise<PrintedSong<Blob>> {
    return this.questions.print(options);
  }

  dispose(): void {
    this.begin(this.edition);
    this.renderer.dispose();
    this.measuring.dispose();
  }
}
