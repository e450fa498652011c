import { framesOf, secondsOf, type Sound } from '../../audio/audio.ts';
import type { PrintedSong } from '../../files/print-song.ts';
import { heardLoudnessSteps } from '../../measure/heard.ts';
import type { GrowingPaths } from '../../render/executor.ts';
import { asReceived, makePlan } from '../../render/make-plan.ts';
import type { Plan } from '../../render/plan.ts';
import { memoryRoom, type SoundRoom } from '../../render/store/room.ts';
import { settledPlan } from '../../render/print.ts';
import { splicedSound } from '../../render/section.ts';
import { soundProblem } from '../../render/sources.ts';
import { WorkerRenderer } from '../../render/worker-renderer.ts';
import { originsOf } from '../../render/origins.ts';
import { gapProblem } from '../../render/silence-before.ts';
import { sentenceOf } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { chainFilesOf } from '../../session/sound-files.ts';
import type { AudioFileFacts, AudioFiles, EngineState, PrintOptions } from '../engine.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import { plainSentence } from '../message.ts';
import { quickRow } from './quick-rows.ts';
import { answerOf } from '../job.ts';
import type { Answers, Asking, Question } from '../questions.ts';
import { inSlices } from '../slices.ts';
import { Song } from '../song.ts';
import { factsOfSound, SoundLibrary } from '../sound-library.ts';
import { allFilesOf, filesOf } from '../files-of-session.ts';
import { GrowingMix } from './growing-mix.ts';
import type { LevelsAsked } from './level-answers.ts';
import { LiveDesk } from './live-desk.ts';
import { liveSoundFor } from './live-sounds.ts';
import { Measuring, type MeasuringListener } from './measuring.ts';
import { ReceivedMix } from './received-mix.ts';
import { PassPrints, type Studio } from './pass-prints.ts';
import type { EngineMessage } from './protocol.ts';
import { hasSamePaths, QuestionDesk, sameSound } from './question-desk.ts';
import { RenderPace } from './render-pace.ts';
import { SoundFeed } from './sound-feed.ts';
import { Outbox, type Rendered } from './outbox.ts';

const RESTING: EngineState = { phase: 'empty', progress: 0, message: '' };

/** What the sound of passes hangs on, and that of the rough through the mix bus. */
const PARTS_OF_PASSES = [
  ...(['passes', 'sampleRate', 'tempo', 'meter', 'tempoChanges', 'meterChanges'] as const),
  ...(['panLaw', 'rough', 'mixBus', 'lines'] as const),
];

/** A section that is rendered first is at least so many times shorter than the song, or it would not be heard much sooner. */
const SHORT_SECTION = 3;

/** The engine where the sound is: decodes, plans, has strips rendered, measures, and tells all that it finds. */
export class EngineHost {
  private session: Session | null = null;
  /** The session whose measuring was last asked for. */
  private measured: Session | null = null;
  private rendered: Rendered | null = null;
  /** What was rendered last and told to be heard, overtaken or not. */
  private heard: Rendered | null = null;
  private edition = 0;
  private isPlaying = false;
  private isReading = false;
  /** The rough that was measured last, and the length of the song then. */
  private measuredRough: { readonly rough: Sound; readonly seconds: number } | null = null;
  /** The rough that can be heard beside a mix that is being rendered; undefined: there is no such mix. */
  private growsBeside: Sound | null | undefined;
  /** Frames of sounds that are there while they are rendered. */
  private readonly reaches = new WeakMap<Sound, () => number>();
  private work = new AbortController();
  private passesOf: Session | null = null;
  private wantedPasses: readonly string[] = [];
  private seconds = 0;

  private readonly renderer = new WorkerRenderer(navigator.hardwareConcurrency);
  private readonly pace = new RenderPace((signal, onPart) => this.renderNewest(signal, onPart));
  private readonly outbox: Outbox;
  private readonly library: SoundLibrary;
  private readonly song: Song;
  private readonly measuring: Measuring;
  private readonly received: ReceivedMix;
  private readonly prints: PassPrints;
  private readonly questions: QuestionDesk;
  private readonly live: LiveDesk;

  constructor(
    tell: (message: EngineMessage) => void,
    /** Where sound is kept. */
    room: SoundRoom = memoryRoom,
  ) {
    const { render } = this.renderer;
    this.outbox = new Outbox(tell);
    this.library = new SoundLibrary(room);
    this.song = new Song(this.library, render, undefined, room);
    this.measuring = new Measuring(this.song, this.measuringListener(), () => this.questions.isOpen);
    this.received = new ReceivedMix(this.song, this.reaches, (groups) => this.measuring.groups(groups));
    const studio: Studio = {
      cache: this.song.strips,
      render,
      room,
      planOf: (session) => this.song.planned(session),
      missingFiles: (session) => this.missing({ ...session, rough: null }),
    };
    this.prints = new PassPrints(studio, () => this.outbox.prints(this.prints, this.seconds));
    this.questions = new QuestionDesk({
      song: this.song,
      inHand: () => this.session && this.rendered && { session: this.session, rendered: this.rendered },
      known: () => this.measuring.known,
    });
    this.live = new LiveDesk({
      rendered: () => this.heard?.plan ?? null,
      soundFor: (ref) => this.session && this.heard && liveSoundFor(this.song, this.session, this.heard, ref),
      refsOf: (sounds) => this.outbox.liveRefs(sounds),
      played: () => this.outbox.played,
      tell: (path, note) => this.outbox.live(path, note),
    });
  }

  private measuringListener(): MeasuringListener {
    return {
      measured: (side, measurement, overview) => {
        this.outbox.tell({ kind: 'overview', side, overview });
        this.outbox.find({ [side]: measurement });
      },
      mix: (mix, overview) => {
        this.outbox.tell({ kind: 'overview', side: 'mix', overview });
        this.outbox.find({ mix });
      },
      sum: (beforeMixBus) => this.outbox.find({ beforeMixBus }),
      rows: (rows, quick) => {
        const before = this.outbox.findings.paths;
        this.outbox.find({
          paths: new Map(rows.map((row) => [row.id, quick ? quickRow(row, before.get(row.id)) : row])),
        });
      },
      guards: (guards) => this.outbox.find({ guards }),
      measuring: (measuredPart) => this.outbox.view({ measuredPart }),
      settled: () => {
        if (this.measured === this.session) this.outbox.tell({ kind: 'settled', edition: this.edition });
      },
      level: (level) => this.outbox.tell({ kind: 'level', level }),
      failed: (error) => this.fail('Measuring', error),
    };
  }

  private fail(what: string, error: unknown): void {
    const why = plainSentence(error, 'there is a fault in the app; undo the last change, or open the session again.');
    this.outbox.state({ phase: 'failed', progress: 0, message: `${what} stopped: ${why}` });
  }

  /** Begins work that replaces whatever was under way. */
  private begin(edition: number): AbortSignal {
    this.edition = edition;
    this.isReading = false;
    this.pace.stop();
    this.work.abort(new DOMException('replaced by newer work', 'AbortError'));
    this.work = new AbortController();
    return this.work.signal;
  }

  /** Takes a session in place of the last one; `held`: its files that are in hand already. Rejects as `Engine.open` does. */
  async open(edition: number, session: Session, files: AudioFiles, held: readonly string[] = []): Promise<void> {
    this.take(await this.decode(edition, files));
    // A file of the last song may have the name of one that this song misses.
    const given = new Set([...files.keys(), ...held]);
    this.library.keepOnly(new Set(allFilesOf(session).filter((path) => given.has(path))));
    this.session = session;
    this.rendered = null;
    this.forgetSound();
    this.outbox.soundOverviews(this.chainSounds(session));
    this.pace.now();
  }

  async addFiles(edition: number, files: AudioFiles): Promise<readonly AudioFileFacts[]> {
    const sounds = await this.decode(edition, files);
    this.take(sounds);
    this.goOn();
    return [...sounds].map(([path, sound]) => factsOfSound(path, sound));
  }

  /** After files were read, or could not be: the screen shows no reading, and the song in hand, whose work they ended, goes on. */
  private goOn(): void {
    this.outbox.state(this.restingState());
    if (this.session) this.apply(this.edition, this.session);
  }

  /** What is shown while nothing is read or rendered. */
  private restingState(): EngineState {
    return this.rendered ? { phase: 'ready', progress: 1, message: '' } : RESTING;
  }

  /** Puts sounds into hand: plans that were made without them hold no more. */
  private take(sounds: ReadonlyMap<string, Sound>): void {
    this.library.take(sounds);
    this.song.soundsChanged();
  }

  /** Reads files in the place of whatever was under way. What comes in their place leaves the screen to itself. */
  private async decode(edition: number, files: AudioFiles): Promise<ReadonlyMap<string, Sound>> {
    const signal = this.begin(edition);
    this.isReading = true;
    // What is measured meanwhile is not of all that is in hand.
    this.measured = null;
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
   * The session after an edit, with what of it is soloed. While something plays (`isPlaying`), it is rendered while the hand still
   * moves.
   */
  apply(edition: number, whole: Session, isPlaying = this.isPlaying, solo: readonly string[] = []): void {
    const session = this.song.soloed(whole, solo);
    this.edition = edition;
    this.isPlaying = isPlaying;
    this.session = session;
    this.measured = null;
    const missing = this.missing(session);
    if (missing.length > 0) {
      this.begin(edition);
      this.outbox.view({ missing });
      this.offerRough(session);
      return;
    }
    this.outbox.soundOverviews(this.chainSounds(session));
    if (this.refuses(session)) {
      this.begin(edition);
      return;
    }
    this.followPasses(session);
    const { plan } = this.song.planned(session);
    this.outbox.mixBus(plan.mixBus);
    this.live.follow(plan);
    const { rendered } = this;
    if (rendered?.received && sameSound(plan, rendered.plan)) {
      this.begin(edition);
      this.outbox.view({ missing });
      const settled = settledPlan(plan, rendered.paths);
      this.finish(session, { ...rendered, plan: settled, rough: this.song.roughOf(session) });
      return;
    }
    const isHeard = this.isPlaying && rendered !== null && hasSamePaths(plan, rendered.plan);
    if (!isHeard) this.begin(edition);
    this.pace.edited(isHeard);
  }

  /** Stops what is read or rendered. A song whose work the reading had ended goes on. */
  cancel(edition: number): void {
    const { isReading } = this;
    this.begin(edition);
    if (isReading) this.goOn();
    else this.outbox.state(this.restingState());
  }

  private async renderNewest(signal: AbortSignal, onPart: (part: number) => void): Promise<void> {
    try {
      await this.renderWhenWhole(signal, onPart);
    } catch (error) {
      if (!signal.aborted) this.fail('Rendering', error);
    }
  }

  private missing(session: Session): string[] {
    return filesOf(session).filter((file) => !this.library.has(file));
  }

  /** Sounds in hand that processors name, by file. */
  private chainSounds(session: Session): ReadonlyMap<string, Sound> {
    const sounds = chainFilesOf(session).map(({ file }) => [file, this.library.at(file, session.sampleRate)] as const);
    return new Map(sounds.flatMap(([file, sound]) => (sound ? [[file, sound]] : [])));
  }

  /** Says what a processor cannot work with, and what file begins too late. True when there is such a sound: then nothing is rendered. */
  private refuses(session: Session): boolean {
    const unfit = chainFilesOf(session)
      .map(({ file }) => soundProblem(file, secondsOf(this.library.at(file, session.sampleRate)!)))
      .find((found) => found !== null);
    const problem = unfit ?? gapProblem(session, this.song.planned(session).sources);
    if (problem) this.outbox.state({ phase: 'failed', progress: 0, message: sentenceOf(problem) });
    return problem !== null;
  }

  /** Renders the session in hand, unless files are missing. */
  private async renderWhenWhole(signal: AbortSignal, onPart: (part: number) => void): Promise<void> {
    const session = this.session!;
    const missing = this.missing(session);
    this.outbox.view({ missing });
    if (missing.length > 0 || filesOf(session).length === 0) {
      this.putDown(session);
      return;
    }
    const rough = this.song.roughOf(session);
    if (this.growsBeside !== rough) this.offerRough(session);
    if (this.refuses(session)) return;
    let isHeardFirst = false;
    // After a cancel a report may still be on its way.
    const progress = (part: number): void => {
      if (signal.aborted) return;
      onPart(part);
      const what = isHeardFirst ? 'Rendering the rest of the song' : 'Rendering what changed';
      const message = this.rendered ? what : 'Preparing the song';
      this.outbox.state({ phase: 'rendering', progress: part, message });
    };
    progress(0);
    const { plan } = this.song.planned(session);
    this.outbox.mixBus(plan.mixBus);
    if (plan.sources.length === 0) {
      this.finish(session, { plan, paths: new Map(), received: null, rough });
      return;
    }
    const asCame = this.song.planned(this.song.asReceived(session)).plan;
    this.song.keepOnly(plan, asCame, ...(this.rendered ? [this.rendered.plan] : []));
    isHeardFirst = await this.renderWhereHeard(session, plan, signal);
    const growing = this.growing(plan, rough, signal);
    const onBegun = (begun: GrowingPaths): void => {
      for (const [id, path] of begun.paths) this.reaches.set(path, () => begun.reach(id));
      growing.begun(begun);
    };
    const onProgress = (part: number): void => {
      progress(0.9 * part);
      growing.look();
    };
    const mixing = answerOf(this.song.rendered(session, 'kept', { follows: 'mix', onBegun }), { signal, onProgress });
    const [{ plan: settled, paths }, received] = await Promise.all([
      mixing,
      this.received.of(session, signal, growing),
    ]);
    signal.throwIfAborted();
    this.song.keepOnly(plan, asCame);
    const rendered = { plan: settled, paths, received, rough };
    if (session === this.session) this.finish(session, rendered);
    else this.hearOvertaken(rendered);
  }

  /** What is listened to comes first, where the whole would be long in coming. Returns whether it did: it is heard then. */
  private async renderWhereHeard(session: Session, plan: Plan, signal: AbortSignal): Promise<boolean> {
    const { heard } = this;
    const span = this.live.listenedTo(plan.sampleRate);
    if (!heard || !span || !hasSamePaths(plan, heard.plan)) return false;
    if (SHORT_SECTION * (span.to - span.from) > plan.frames) return false;
    this.outbox.state({ phase: 'rendering', progress: 0, message: 'Rendering where you listen' });
    const { paths, run } = await answerOf(this.song.renderedSection(session, span), { signal });
    if (run.size === 0) return false;
    const spliced = [...paths].map(([id, path]) => {
      const before = heard.paths.get(id);
      return [id, before && run.has(id) ? splicedSound(before, path, span) : path] as const;
    });
    this.outbox.hearable({ ...heard, plan, paths: new Map(spliced) }, this.seconds, true);
    this.pace.heard();
    return true;
  }

  /** What is heard of the first render of a song while it is under way. */
  private growing(plan: Plan, rough: Sound | null, signal: AbortSignal): GrowingMix {
    const isFirst = this.rendered === null;
    const tell: ConstructorParameters<typeof GrowingMix>[2] = (mix, levels) => {
      const frames = Math.max(plan.soundFrames, rough ? framesOf(rough) : 0);
      if (!rough) this.setSeconds(frames / plan.sampleRate);
      this.growsBeside = rough;
      this.outbox.growing(mix, frames / plan.sampleRate, levels);
    };
    return new GrowingMix(plan, rough, tell, () => !isFirst || signal.aborted || this.rendered !== null);
  }

  /** Another render follows at once, for the hand has moved on: this one is only heard, through the newest mix bus. */
  private hearOvertaken(rendered: Rendered): void {
    this.outbox.mixBus(this.song.planned(this.session!).plan.mixBus);
    this.offer(rendered, true);
  }

  /** Lets be heard what was rendered; `isOvertaken`: of a session that has been edited since. */
  private offer(rendered: Rendered, isOvertaken: boolean): void {
    this.heard = rendered;
    this.outbox.hearable(rendered, this.seconds, isOvertaken);
    this.live.follow(this.song.planned(this.session!).plan);
    this.live.rendered();
  }

  /** The path that is worked on; null: none. */
  touch(path: string | null): void {
    this.live.touch(path);
  }

  /** Feeds a player through this port. */
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

  /** Nothing can be rendered of the session in hand: what was rendered of another is let go; the rough may be there. */
  private putDown(session: Session): void {
    this.outbox.state(RESTING);
    if (this.rendered) {
      this.rendered = null;
      this.forgetSound();
    }
    this.offerRough(session);
    this.measured = session;
    this.measuring.nothing();
  }

  private forgetSound(): void {
    this.measuredRough = null;
    this.received.forget();
    this.seconds = 0;
    this.heard = null;
    this.growsBeside = undefined;
    this.live.clear();
    this.passesOf = null;
    this.prints.clear();
    this.measuring.forget();
    this.outbox.forget();
  }

  /** The rough is only a file: it can be heard alone until something is rendered, which then joins it. */
  private offerRough(session: Session): void {
    if (this.rendered) return;
    this.growsBeside = undefined;
    const rough = this.song.roughOf(session);
    if (!rough) {
      if (this.measuredRough) this.forgetSound();
      return;
    }
    const plan = makePlan(asReceived({ ...session, tracks: [], groups: [] }), new Map());
    this.setSeconds(secondsOf(rough));
    this.measureRough(rough);
    this.outbox.hearable({ plan, paths: new Map(), received: null, rough }, this.seconds, false);
  }

  private setSeconds(seconds: number): void {
    this.seconds = seconds;
    this.outbox.view({ seconds });
  }

  /** Measures the rough where it is new, or its overview has another length to cover. */
  private measureRough(rough: Sound | null): void {
    const { measuredRough: before, seconds } = this;
    if (rough !== (before?.rough ?? null)) this.outbox.find({ rough: null });
    this.measuredRough = rough && { rough, seconds };
    if (!rough) this.measuring.without('rough');
    else if (rough !== before?.rough || seconds !== before.seconds) this.measuring.measure('rough', rough, seconds);
  }

  /** Takes up what has been rendered: only what is new is measured and loaded. */
  private finish(session: Session, rendered: Rendered): void {
    const { plan, paths, received, rough } = rendered;
    const before = this.rendered;
    this.rendered = rendered;
    const songFrames = Math.max(plan.soundFrames, rough ? framesOf(rough) : 0);
    this.setSeconds(songFrames / plan.sampleRate);
    const { seconds } = this;
    this.outbox.state({ phase: 'ready', progress: 1, message: '' });
    const longer = before ? before.plan.soundFrames !== plan.soundFrames : true;
    this.measured = session;
    this.outbox.view({ measuredPart: 0 });
    this.measureRough(rough);
    if (received === null) {
      // What was measured of a mix is of another.
      this.received.forget();
      this.outbox.forgetMix();
      this.measuring.nothing();
    } else {
      if (paths !== before?.paths) this.measuring.paths(paths, originsOf(plan));
      if (received !== before?.received || longer) this.measuring.measure('received', received, seconds);
      this.measuring.blend(session, plan, seconds, [...(rough ? (['rough'] as const) : []), 'received']);
    }
    if (!before) this.followPasses(session);
    this.offer(rendered, false);
    this.outbox.prints(this.prints, seconds);
  }

  /** Which passes are to be printed. */
  wantPasses(ids: readonly string[]): void {
    this.wantedPasses = ids;
    if (this.passesOf) this.prints.want(this.passesOf, ids);
  }

  /** The session after an edit, or as it was with more files in hand: its passes may be others, or sound otherwise. */
  private followPasses(session: Session): void {
    const before = this.passesOf;
    this.passesOf = session;
    if (before === null || before === session || PARTS_OF_PASSES.some((part) => before[part] !== session[part]))
      this.prints.want(session, this.wantedPasses);
  }

  askLevels(asked: LevelsAsked): void {
    this.measuring.askLevels(asked);
  }

  /** Loudness of a sound that was told of, LUFS; undefined: it is gone. */
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
