import { framesOf, secondsOf, type Audio } from '../../audio/audio.ts';
import type { PrintedSong } from '../../files/print-song.ts';
import { heardLoudnessSteps } from '../../measure/heard.ts';
import { cacheKey, type RenderOptions } from '../../render/executor.ts';
import { asReceived, makePlan } from '../../render/make-plan.ts';
import { gainsOf, sumSteps } from '../../render/mix.ts';
import type { Plan } from '../../render/plan.ts';
import { settledPlan } from '../../render/print.ts';
import { factsOf, processorSounds, soundProblem, type Sources } from '../../render/sources.ts';
import { StripCache } from '../../render/strip-cache.ts';
import { WorkerRenderer } from '../../render/worker-renderer.ts';
import { originsOf } from '../../render/origins.ts';
import { sentenceOf } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { chainFilesOf } from '../../session/sound-files.ts';
import type { AudioFileFacts, AudioFiles, EngineState, PrintOptions } from '../engine.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import { plainSentence } from '../message.ts';
import { quickRow } from '../measuring/quick-rows.ts';
import type { Answers, Asking, Question } from '../questions.ts';
import { inSlices } from '../slices.ts';
import { filesOf, filesToKeep } from '../files-of-session.ts';
import type { LevelsAsked } from './level-answers.ts';
import { Measuring, type MeasuringListener } from './measuring.ts';
import { PassPrints } from './pass-prints.ts';
import type { Told } from './protocol.ts';
import { hasSamePaths, QuestionDesk, sameSound } from './question-desk.ts';
import { RenderPace } from './render-pace.ts';
import { decodeAll, factsOfSound, shifted, SoundLibrary } from './sound-library.ts';
import { Teller, type Rendered } from './teller.ts';

const RESTING: EngineState = { phase: 'empty', progress: 0, message: '' };

/** A session as it is to be rendered, and its tracks' sound. */
export interface Planned {
  readonly plan: Plan;
  readonly sources: Sources;
}

/** What the sound of passes hangs on. */
const PARTS_OF_PASSES = ['passes', 'sampleRate', 'tempo', 'meter'] as const;

/** Samples of `audio` within the plan's song, stereo. */
const within = ({ sampleRate, channels }: Audio, frames: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(0, Math.min(frames, channel.length))),
});

/** The engine where the sound is: decodes, plans, has strips rendered, measures, and tells all that it finds. */
export class EngineHost {
  private session: Session | null = null;
  /** The session whose measuring was last asked for. */
  private measured: Session | null = null;
  private rendered: Rendered | null = null;
  private edition = 0;
  private isPlaying = false;
  private rough: { readonly sound: Audio; readonly offset: number; readonly moved: Audio } | null = null;
  /** The rough that was measured last, and the length of the song then. */
  private measuredRough: { readonly rough: Audio; readonly seconds: number } | null = null;
  private received: { readonly plan: Plan; readonly sound: Audio } | null = null;
  private work = new AbortController();
  /** Plans of sessions with the files in hand. */
  private plans = new WeakMap<Session, Planned>();
  private passesOf: Session | null = null;
  private wantedPasses: readonly string[] = [];
  private seconds = 0;

  private readonly library = new SoundLibrary();
  private readonly cache = new StripCache();
  private readonly renderer = new WorkerRenderer(navigator.hardwareConcurrency);
  private readonly teller: Teller;
  private readonly pace = new RenderPace((signal, onPart) => this.renderNewest(signal, onPart));
  private readonly measuring: Measuring = new Measuring(this.measuringListener(), () => this.questions.isOpen);
  private readonly prints = new PassPrints(
    {
      cache: this.cache,
      render: this.renderer.render,
      planOf: (session) => this.planOf(session),
      missingFiles: (session) => this.missing({ ...session, rough: null }),
    },
    () => this.teller.prints(this.prints, this.seconds),
  );
  private readonly questions: QuestionDesk = new QuestionDesk(this.measuring, {
    cache: this.cache,
    render: this.renderer.render,
    planOf: (session) => this.planOf(session),
    chainSounds: (session) => processorSounds(this.chainSounds(session)),
    inHand: () => this.session && this.rendered && { session: this.session, rendered: this.rendered },
    findings: () => this.teller.findings,
  });

  constructor(tell: (told: Told) => void) {
    this.teller = new Teller(tell);
  }

  private measuringListener(): MeasuringListener {
    return {
      measured: (side, measurement, overview) => {
        this.teller.tell({ kind: 'overview', side, overview });
        this.teller.find({ [side]: measurement });
      },
      mix: (mix, overview) => {
        this.teller.tell({ kind: 'overview', side: 'mix', overview });
        this.teller.find({ mix });
      },
      sum: (beforeMixBus) => this.teller.find({ beforeMixBus }),
      rows: (rows, quick) => {
        const before = this.teller.findings.paths;
        this.teller.find({
          paths: new Map(rows.map((row) => [row.id, quick ? quickRow(row, before.get(row.id)) : row])),
        });
      },
      guards: (guards) => this.teller.find({ guards }),
      measuring: (measuredPart) => this.teller.view({ measuredPart }),
      settled: () => {
        if (this.measured === this.session) this.teller.tell({ kind: 'settled', edition: this.edition });
      },
      level: (level) => this.teller.tell({ kind: 'level', level }),
      failed: (error) => this.fail('Measuring', error),
    };
  }

  private fail(what: string, error: unknown): void {
    const why = plainSentence(error, 'there is a fault in the app; undo the last change, or open the session again.');
    this.teller.state({ phase: 'failed', progress: 0, message: `${what} stopped: ${why}` });
  }

  /** Begins work that replaces whatever was under way. */
  private begin(edition: number): AbortSignal {
    this.edition = edition;
    this.pace.stop();
    this.work.abort(new DOMException('replaced by newer work', 'AbortError'));
    this.work = new AbortController();
    return this.work.signal;
  }

  /** Takes a session in place of the last one. Rejects as `Engine.open` does. */
  async open(edition: number, session: Session, files: AudioFiles): Promise<void> {
    this.take(await this.decode(edition, files));
    this.library.keepOnly(filesToKeep(session));
    this.session = session;
    this.rendered = null;
    this.forgetSound();
    this.teller.soundOverviews(this.chainSounds(session));
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
    this.teller.state(this.restingState());
    if (this.session) this.apply(this.edition, this.session);
  }

  /** What is shown while nothing is read or rendered. */
  private restingState(): EngineState {
    return this.rendered ? { phase: 'ready', progress: 1, message: '' } : RESTING;
  }

  /** Puts sounds into hand: plans that were made without them hold no more. */
  private take(sounds: ReadonlyMap<string, Audio>): void {
    this.library.take(sounds);
    this.plans = new WeakMap();
  }

  /** Reads files in the place of whatever was under way. What comes in their place leaves the screen to itself. */
  private async decode(edition: number, files: AudioFiles): Promise<ReadonlyMap<string, Audio>> {
    const signal = this.begin(edition);
    try {
      const sounds = await decodeAll(
        files,
        (progress, path) => this.teller.state({ phase: 'loading', progress, message: `Reading ${path}` }),
        signal,
      );
      signal.throwIfAborted();
      return sounds;
    } catch (error) {
      if (!signal.aborted) this.goOn();
      throw error;
    }
  }

  /** The session after an edit. While something plays (`isPlaying`), it is rendered while the hand still moves. */
  apply(edition: number, session: Session, isPlaying = this.isPlaying): void {
    this.edition = edition;
    this.isPlaying = isPlaying;
    this.session = session;
    const missing = this.missing(session);
    if (missing.length > 0) {
      this.begin(edition);
      this.teller.view({ missing });
      this.offerRough(session);
      return;
    }
    this.teller.soundOverviews(this.chainSounds(session));
    if (this.refuses(session)) {
      this.begin(edition);
      return;
    }
    this.followPasses(session);
    const { plan } = this.planOf(session);
    this.teller.mixBus(plan.mixBus);
    const { rendered } = this;
    if (rendered?.received && sameSound(plan, rendered.plan)) {
      this.begin(edition);
      this.teller.view({ missing });
      const settled = settledPlan(plan, rendered.paths);
      this.finish(session, { ...rendered, plan: settled, rough: this.roughOf(session) });
      return;
    }
    const isHeard = this.isPlaying && rendered !== null && hasSamePaths(plan, rendered.plan);
    if (!isHeard) this.begin(edition);
    this.pace.edited(isHeard);
  }

  cancel(edition: number): void {
    this.begin(edition);
    this.teller.state(this.restingState());
  }

  private async renderNewest(signal: AbortSignal, onPart: (part: number) => void): Promise<void> {
    try {
      await this.renderWhenWhole(signal, onPart);
    } catch (error) {
      if (!signal.aborted) this.fail('Rendering', error);
    }
  }

  private missing(session: Session): string[] {
    return [...filesOf(session)].filter((file) => !this.library.has(file));
  }

  private planOf(session: Session): Planned {
    const known = this.plans.get(session);
    if (known) return known;
    const sources: Sources = new Map(
      session.tracks.flatMap(({ id, file }) => {
        const sound = this.library.at(file, session.sampleRate);
        return sound ? [[id, sound] as const] : [];
      }),
    );
    const plan = makePlan(session, factsOf(sources), processorSounds(this.chainSounds(session)));
    const planned = { plan, sources };
    this.plans.set(session, planned);
    return planned;
  }

  /** Sounds in hand that processors work with, by file. */
  private chainSounds(session: Session): ReadonlyMap<string, Audio> {
    return new Map(
      chainFilesOf(session).flatMap(({ file }) => {
        const sound = this.library.at(file, session.sampleRate);
        return sound && !soundProblem(file, secondsOf(sound)) ? [[file, sound] as const] : [];
      }),
    );
  }

  /** Says what a processor cannot work with. True when there is such a sound: then nothing is rendered. */
  private refuses(session: Session): boolean {
    const problem = chainFilesOf(session)
      .map(({ file }) => soundProblem(file, secondsOf(this.library.at(file, session.sampleRate)!)))
      .find((found) => found !== null);
    if (problem) this.teller.state({ phase: 'failed', progress: 0, message: sentenceOf(problem) });
    return problem !== undefined;
  }

  /** Renders the session in hand, unless files are missing. */
  private async renderWhenWhole(signal: AbortSignal, onPart: (part: number) => void): Promise<void> {
    const session = this.session!;
    const missing = this.missing(session);
    this.teller.view({ missing });
    if (missing.length > 0 || filesOf(session).size === 0) {
      this.putDown(session);
      return;
    }
    this.offerRough(session);
    if (this.refuses(session)) return;
    // After a cancel a report may still be on its way.
    const progress = (part: number): void => {
      if (signal.aborted) return;
      onPart(part);
      const message = this.rendered ? 'Rendering what changed' : 'Preparing the song';
      this.teller.state({ phase: 'rendering', progress: part, message });
    };
    progress(0);
    const { plan, sources } = this.planOf(session);
    this.teller.mixBus(plan.mixBus);
    const rough = this.roughOf(session);
    if (plan.sources.length === 0) {
      this.finish(session, { plan, paths: new Map(), received: null, rough });
      return;
    }
    const options = { cache: this.cache, signal };
    const asCame = this.planOf(asReceived(session)).plan;
    this.keepStrips(plan, asCame, this.rendered?.plan);
    const paths = await this.renderer.render(plan, sources, { ...options, onProgress: (part) => progress(0.9 * part) });
    const received = await this.receivedOf(asCame, sources, options);
    signal.throwIfAborted();
    this.keepStrips(plan, asCame);
    const rendered = { plan: settledPlan(plan, paths), paths, received, rough };
    if (session === this.session) this.finish(session, rendered);
    else this.hearOvertaken(rendered);
  }

  /** Another render follows at once, for the hand has moved on: this one is only heard, through the newest mix bus. */
  private hearOvertaken(rendered: Rendered): void {
    this.teller.mixBus(this.planOf(this.session!).plan.mixBus);
    this.teller.hearable(rendered, this.seconds, true);
  }

  /** Strips of these plans stay; what was rendered of others is let go, the oldest first. */
  private keepStrips(...plans: readonly (Plan | undefined)[]): void {
    this.cache.keep(new Set(plans.flatMap((plan) => plan?.strips.map((strip) => cacheKey(plan, strip)) ?? [])));
  }

  /** The mix as received; the same object as long as it is the same sound. */
  private async receivedOf(plan: Plan, sources: Sources, options: RenderOptions): Promise<Audio> {
    if (this.received && sameSound(plan, this.received.plan) && sameGains(plan, this.received.plan)) {
      return this.received.sound;
    }
    const groups = await this.renderer.render(plan, sources, options);
    const sum = await inSlices(sumSteps(groups, gainsOf(plan)), () => options.signal?.aborted ?? false);
    if (!sum) throw options.signal!.reason as Error;
    const sound = within(sum, plan.songFrames);
    this.measuring.groups(new Map([...groups].map(([id, audio]) => [id, within(audio, plan.songFrames)])));
    this.received = { plan, sound };
    return sound;
  }

  /** Nothing can be rendered of the session in hand: what was rendered of another is let go; the rough may be there. */
  private putDown(session: Session): void {
    this.teller.state(RESTING);
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
    this.received = null;
    this.seconds = 0;
    this.passesOf = null;
    this.prints.clear();
    this.measuring.forget();
    this.teller.forget();
  }

  /** The rough is only a file: it can be heard alone until something is rendered, which then joins it. */
  private offerRough(session: Session): void {
    if (this.rendered) return;
    const rough = this.roughOf(session);
    if (!rough) {
      if (this.measuredRough) this.forgetSound();
      return;
    }
    const plan = makePlan(asReceived({ ...session, tracks: [], groups: [] }), new Map());
    this.setSeconds(secondsOf(rough));
    this.measureRough(rough);
    this.teller.hearable({ plan, paths: new Map(), received: null, rough }, this.seconds, false);
  }

  private setSeconds(seconds: number): void {
    this.seconds = seconds;
    this.teller.view({ seconds });
  }

  /** Measures the rough where it is new, or its overview has another length to cover. */
  private measureRough(rough: Audio | null): void {
    const { measuredRough: before, seconds } = this;
    if (rough !== (before?.rough ?? null)) this.teller.find({ rough: null });
    this.measuredRough = rough && { rough, seconds };
    if (!rough) this.measuring.without('rough');
    else if (rough !== before?.rough || seconds !== before.seconds) this.measuring.measure('rough', rough, seconds);
  }

  /** The rough, moved in time as the session says; the same object as long as it is the same sound. */
  private roughOf({ rough, sampleRate }: Session): Audio | null {
    const sound = rough && this.library.at(rough.file, sampleRate);
    if (!sound) return null;
    if (this.rough?.sound !== sound || this.rough.offset !== rough.offsetSeconds) {
      this.rough = { sound, offset: rough.offsetSeconds, moved: shifted(sound, rough.offsetSeconds) };
    }
    return this.rough.moved;
  }

  /** Takes up what has been rendered: only what is new is measured and loaded. */
  private finish(session: Session, rendered: Rendered): void {
    const { plan, paths, received, rough } = rendered;
    const before = this.rendered;
    this.rendered = rendered;
    const songFrames = Math.max(plan.soundFrames, rough ? framesOf(rough) : 0);
    this.setSeconds(songFrames / plan.sampleRate);
    const { seconds } = this;
    this.teller.state({ phase: 'ready', progress: 1, message: '' });
    const longer = before ? before.plan.soundFrames !== plan.soundFrames : true;
    this.measured = session;
    this.teller.view({ measuredPart: 0 });
    this.measureRough(rough);
    if (received === null) {
      // What was measured of a mix is of another.
      this.received = null;
      this.teller.forgetMix();
      this.measuring.nothing();
    } else {
      if (paths !== before?.paths) this.measuring.paths(paths, originsOf(plan));
      if (received !== before?.received || longer) this.measuring.measure('received', received, seconds);
      this.measuring.blend(session, plan, seconds, [...(rough ? (['rough'] as const) : []), 'received']);
    }
    if (!before) this.followPasses(session);
    this.teller.hearable(rendered, seconds, false);
    this.teller.prints(this.prints, seconds);
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
    const sound = this.teller.sound(id);
    if (!sound) return undefined;
    return inSlices(heardLoudnessSteps(excerptOf(sound, frames)), () => false);
  }

  soundOf(id: number): Audio | null {
    return this.teller.sound(id);
  }

  ask(question: Question, asking: Asking): Promise<Answers[Question['kind']]> {
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

const sameGains = (a: Plan, b: Plan): boolean => a.paths.every(({ gain }, n) => gain === b.paths[n]!.gain);
