import { decibelsOf } from '../audio/decibels.ts';
import { guardedFigures } from '../blend/guards/guard-references.ts';
import { checkGuards, type GuardResult } from '../blend/guards/guards.ts';
import type { ReportPath } from '../files/report.ts';
import type { FullMeasurement } from '../measure/measure.ts';
import { guardsInForce, guardSets } from '../session/guard-set.ts';
import { referencesOf } from './jobs/blend-desk.ts';
import { leftOut } from '../audition/heard.ts';
import type { LedgerRow } from '../blend/ledger/ledger.ts';
import { framesOf, secondsOf, type Audio } from '../audio/audio.ts';
import type { PrintedSong } from '../files/print-song.ts';
import { cacheKey, foundOnly, soundOf, type RenderOptions } from '../render/executor.ts';
import { asReceived, makePlan } from '../render/make-plan.ts';
import { gainsOf, sumSteps } from '../render/mix.ts';
import { mainPrint, settledPlan } from '../render/print.ts';
import type { Plan } from '../render/plan.ts';
import { factsOf, processorSounds, soundProblem, type Sources } from '../render/sources.ts';
import { StripCache } from '../render/strip-cache.ts';
import { WorkerRenderer } from '../render/worker-renderer.ts';
import { originsOf } from '../render/origins.ts';
import { filesOfPasses } from '../session/passes.ts';
import { ProblemError, sentenceOf } from '../session/problem.ts';
import type { Session } from '../session/schema.ts';
import { chainFilesOf, namedFiles } from '../session/sound-files.ts';
import { variantOf, type Variant } from '../session/variants.ts';
import type {
  AudioFileFacts,
  AudioFiles,
  Engine,
  EngineState,
  EngineView,
  Findings,
  Heard,
  Overview,
  PrintOptions,
  Range,
} from './engine.ts';
import { FindingsClient } from './measuring/findings-client.ts';
import { ListeningRoom, type Rendered } from './listening/listening-room.ts';
import { NOTHING_AUDIBLE } from './listening/listening-view.ts';
import { ledgerBy, processorsBy, type LedgerStudio } from './jobs/ledger-rounds.ts';
import { overviewOf } from './measuring/overview.ts';
import { Player } from './listening/player.ts';
import { printFiles, type PrintStudio } from './jobs/print-files.ts';
import { plainSentence } from './message.ts';
import {
  NO_ANSWER,
  NOTHING_SOUNDS,
  SOUND_CHANGED,
  type Answers,
  type AnswerTo,
  type Asking,
  type LedgerQuestion,
  type ProcessorsQuestion,
  type Question,
  type RowOf,
  type StageQuestion,
  type FitQuestion,
  type SweepQuestion,
} from './questions.ts';
import { quickRow } from './measuring/quick-rows.ts';
import { decodeAll, factsOfSound, shifted, SoundLibrary } from './sound-library.ts';
import { RenderPace } from './render-pace.ts';
import { fitJobOf, isStageQuestion, stageJobOf } from './jobs/stage-job.ts';
import { inSlices } from './slices.ts';
import type { SolveQuestion } from './jobs/solve-desk.ts';
import { SolveMixes } from './jobs/solve-mixes.ts';
import { sweepBy, type SweepStudio } from './jobs/sweep-rounds.ts';

const NOTHING_FOUND: Findings = {
  rough: null,
  received: null,
  mix: null,
  beforeMixBus: null,
  paths: new Map(),
  guards: null,
};
const RESTING: EngineState = { phase: 'empty', progress: 0, message: '' };

/** A session as it is to be rendered, and its tracks' sound. */
interface Planned {
  readonly plan: Plan;
  readonly sources: Sources;
}

/** Files that the mix in hand names. */
const filesOf = (session: Session): ReadonlySet<string> => new Set(namedFiles(session).map(({ file }) => file));

/** Samples of `audio` within the plan's song, stereo. */
const within = ({ sampleRate, channels }: Audio, frames: number): Audio => ({
  sampleRate,
  channels: channels.map((channel) => channel.subarray(0, Math.min(frames, channel.length))),
});

/** The engine of the app: a worker renders, another measures, the audition plays. */
export class BenchEngine implements Engine {
  view: EngineView = {
    state: RESTING,
    findings: NOTHING_FOUND,
    isMeasured: false,
    measuredPart: 0,
    seconds: 0,
    missing: [],
    playing: false,
    ...NOTHING_AUDIBLE,
  };

  private readonly listeners = new Set<() => void>();
  private readonly library = new SoundLibrary();
  private readonly cache = new StripCache();
  private readonly renderer = new WorkerRenderer();
  private readonly overviews = new Map<Heard, Overview>();
  private readonly soundOverviews = new WeakMap<Audio, Overview>();
  private readonly findings = new FindingsClient({
    measured: (side, measurement, overview) => {
      this.overviews.set(side, overview);
      this.find({ [side]: measurement });
      this.room.measured(side, measurement.integratedLufs);
    },
    mix: (printed, overview) => {
      this.overviews.set('mix', overview);
      this.find({ mix: printed });
      this.room.measured('mix', printed.integratedLufs);
    },
    sum: (beforeMixBus) => this.find({ beforeMixBus }),
    rows: (rows, quick) => {
      this.find({ paths: this.withRows(rows, quick) });
      this.room.changesKnown();
    },
    guards: (guards) => this.find({ guards }),
    measuring: (measuredPart) => this.show({ measuredPart }),
    settled: () => this.show({ isMeasured: this.measured === this.session }),
    level: (side, lufs, settled) => this.room.level(side, { lufs, settled }),
    failed: (message) => this.show({ state: { phase: 'failed', progress: 0, message } }),
  });
  private session: Session | null = null;
  /** The session whose measuring was last asked for. */
  private measured: Session | null = null;
  private rendered: Rendered | null = null;
  private rough: { readonly sound: Audio; readonly offset: number; readonly moved: Audio } | null = null;
  /** The rough that was measured last, and the length of the song then. */
  private measuredRough: { readonly rough: Audio; readonly seconds: number } | null = null;
  private received: { readonly plan: Plan; readonly sound: Audio } | null = null;
  private work = new AbortController();
  private readonly pace = new RenderPace((signal, onPart) => this.renderNewest(signal, onPart));
  /** Plans of sessions with the files in hand. */
  private plans = new WeakMap<Session, Planned>();
  private readonly player = new Player(() => this.show({ playing: false }));
  private readonly room = new ListeningRoom(
    this.player,
    this.findings,
    {
      cache: this.cache,
      render: this.renderer.render,
      planOf: (session) => this.planOf(session),
      missingFiles: (session) => this.missing({ ...session, rough: null }),
    },
    (path) => {
      const row = this.view.findings.paths.get(path);
      if (row?.without.integratedLufs === null) return null;
      const change = row?.change.integratedLufs ?? undefined;
      return change === undefined ? undefined : -change;
    },
    (view) => this.show(view),
  );

  listen(listener: () => void): () => void {
    this.listeners.add(listener);
    return () => this.listeners.delete(listener);
  }

  private show(change: Partial<EngineView>): void {
    this.view = { ...this.view, ...change };
    for (const listener of this.listeners) listener();
  }

  private find(change: Partial<Findings>): void {
    this.show({ findings: { ...this.view.findings, ...change } });
  }

  /** The rows of all paths that there are, which take the place of those before. */
  private withRows(rows: readonly LedgerRow[], quick: boolean): Findings['paths'] {
    const { paths } = this.view.findings;
    return new Map(rows.map((row) => [row.id, quick ? quickRow(row, paths.get(row.id)) : row]));
  }

  /** Begins work that replaces whatever was under way. */
  private begin(): AbortSignal {
    this.show({ isMeasured: false });
    this.pace.stop();
    this.work.abort(new DOMException('replaced by newer work', 'AbortError'));
    this.work = new AbortController();
    return this.work.signal;
  }

  async open(session: Session, files: AudioFiles): Promise<void> {
    const sounds = await this.decode(files);
    this.take(sounds);
    this.library.keepOnly(new Set([...filesOf(session), ...filesOfPasses(session)]));
    this.session = session;
    this.rendered = null;
    this.forgetSound();
    this.player.seek(0);
    this.pace.now();
  }

  async addFiles(files: AudioFiles): Promise<readonly AudioFileFacts[]> {
    const sounds = await this.decode(files);
    this.take(sounds);
    this.goOn();
    return [...sounds].map(([path, sound]) => factsOfSound(path, sound));
  }

  /** After files were read, or could not be: the screen shows no reading, and the song in hand, whose work they ended, goes on. */
  private goOn(): void {
    this.show({ state: this.restingState() });
    if (this.session) this.apply(this.session);
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
  private async decode(files: AudioFiles): Promise<ReadonlyMap<string, Audio>> {
    const signal = this.begin();
    try {
      const sounds = await decodeAll(
        files,
        (progress, path) => this.show({ state: { phase: 'loading', progress, message: `Reading ${path}` } }),
        signal,
      );
      signal.throwIfAborted();
      return sounds;
    } catch (error) {
      if (!signal.aborted) this.goOn();
      throw error;
    }
  }

  apply(session: Session): void {
    this.session = session;
    const missing = this.missing(session);
    if (missing.length > 0) {
      this.begin();
      this.show({ missing });
      this.offerRough(session);
      return;
    }
    if (this.refuses(session)) {
      this.begin();
      return;
    }
    this.room.follow(session);
    const { plan } = this.planOf(session);
    this.player.setBlends(gainsOf(plan));
    this.player.setMixBus(plan.mixBus);
    const { rendered } = this;
    if (rendered?.received && sameSound(plan, rendered.plan)) {
      this.begin();
      this.show({ missing });
      const settled = settledPlan(plan, rendered.paths);
      this.finish(session, { ...rendered, plan: settled, rough: this.roughOf(session) });
      return;
    }
    const isHeard = this.view.playing && rendered !== null && hasSamePaths(plan, rendered.plan);
    if (!isHeard) this.begin();
    this.show({ isMeasured: false });
    this.pace.edited(isHeard);
  }

  private async renderNewest(signal: AbortSignal, onPart: (part: number) => void): Promise<void> {
    try {
      await this.renderWhenWhole(signal, onPart);
    } catch (error) {
      this.fail(error, signal);
    }
  }

  private fail(error: unknown, signal: AbortSignal): void {
    if (signal.aborted) return;
    const why = plainSentence(error, 'there is a fault in the app; undo the last change, or open the session again.');
    this.show({ state: { phase: 'failed', progress: 0, message: `Rendering stopped: ${why}` } });
  }

  cancel(): void {
    this.begin();
    this.show({ state: this.restingState() });
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
    if (problem) this.show({ state: { phase: 'failed', progress: 0, message: sentenceOf(problem) } });
    return problem !== undefined;
  }

  /** Renders the session in hand, unless files are missing. */
  private async renderWhenWhole(signal: AbortSignal, onPart: (part: number) => void): Promise<void> {
    const session = this.session!;
    const missing = this.missing(session);
    this.show({ missing });
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
      this.show({
        state: {
          phase: 'rendering',
          progress: part,
          message: this.rendered ? 'Rendering what changed' : 'Preparing the song',
        },
      });
    };
    progress(0);
    const { plan, sources } = this.planOf(session);
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

  /** Another render follows at once, for the hand has moved on: this one is only heard, at the levels of the newest session. */
  private hearOvertaken(rendered: Rendered): void {
    const { plan } = this.planOf(this.session!);
    this.room.takeOvertaken({ ...rendered, plan: { ...rendered.plan, paths: plan.paths, mixBus: plan.mixBus } });
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
    this.findings.groups(new Map([...groups].map(([id, audio]) => [id, within(audio, plan.songFrames)])));
    this.received = { plan, sound };
    return sound;
  }

  /** Nothing can be rendered of the session in hand: what was rendered of another is let go; the rough may be there. */
  private putDown(session: Session): void {
    this.show({ state: RESTING });
    if (this.rendered) {
      this.rendered = null;
      this.forgetSound();
    }
    this.offerRough(session);
    this.measured = session;
    this.findings.nothing();
  }

  /** Nothing sounds of the session in hand but perhaps its rough: what was measured of a mix is of another. */
  private forgetMix(): void {
    this.received = null;
    this.overviews.delete('received');
    this.overviews.delete('mix');
    this.find({ ...NOTHING_FOUND, rough: this.view.findings.rough });
    this.findings.nothing();
  }

  private forgetSound(): void {
    this.pause();
    this.overviews.clear();
    this.measuredRough = null;
    this.received = null;
    this.show({ findings: NOTHING_FOUND, seconds: 0 });
    this.room.clear();
  }

  /** The rough is only a file: it can be heard alone until something is rendered, which then joins it. */
  private offerRough(session: Session): void {
    if (this.rendered) return;
    const rough = this.roughOf(session);
    if (!rough) {
      this.forgetSound();
      return;
    }
    const seconds = secondsOf(rough);
    const plan = makePlan(asReceived({ ...session, tracks: [] }), new Map());
    this.show({ seconds });
    this.measureRough(rough, seconds);
    this.room.take({ plan, paths: new Map(), received: null, rough }, seconds);
  }

  /** Measures the rough where it is new, or its overview has another length to cover. */
  private measureRough(rough: Audio | null, seconds: number): void {
    const before = this.measuredRough;
    if (rough !== (before?.rough ?? null)) this.find({ rough: null });
    this.measuredRough = rough && { rough, seconds };
    if (rough && (rough !== before?.rough || seconds !== before.seconds))
      this.findings.measure('rough', rough, seconds);
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
    const seconds = songFrames / plan.sampleRate;
    this.show({ seconds, state: { phase: 'ready', progress: 1, message: '' } });
    const longer = before ? before.plan.soundFrames !== plan.soundFrames : true;
    this.measured = session;
    this.show({ measuredPart: 0 });
    this.measureRough(rough, seconds);
    if (received === null) this.forgetMix();
    else {
      if (paths !== before?.paths) this.findings.paths(paths, originsOf(plan));
      if (received !== before?.received || longer) this.findings.measure('received', received, seconds);
      this.findings.blend(session, plan, seconds, [...(rough ? (['rough'] as const) : []), 'received']);
    }
    if (!before) this.room.follow(session);
    this.room.take(rendered, seconds);
  }

  async play(): Promise<void> {
    const playing = await this.player.play();
    this.show({ playing });
  }

  pause(): void {
    this.player.pause();
    this.show({ playing: false });
  }

  seek(seconds: number): void {
    this.player.seek(seconds);
  }

  loop(range: Range | null): void {
    this.player.loop(range);
    this.room.loop(range);
  }

  hear(heard: Heard, veiled = false): void {
    this.room.hear(heard, veiled);
  }

  compare(sides: readonly Heard[]): void {
    this.room.compare(sides);
  }

  match(on: boolean): void {
    this.room.match(on);
  }

  monitor(levelDb: number): void {
    this.player.monitor(levelDb);
  }

  mono(on: boolean): void {
    this.player.mono(on);
  }

  position(): number {
    return this.player.position();
  }

  async ask<Q extends Question>(question: Q, asking?: Asking<RowOf<Q>>): Promise<AnswerTo<Q>> {
    try {
      return (await this.answer(question, asking)) as AnswerTo<Q>;
    } catch (error) {
      if (asking?.signal?.aborted) throw error;
      throw error instanceof ProblemError ? error : new Error(plainSentence(error, NO_ANSWER));
    }
  }

  private answer(question: Question, asking?: Asking): Promise<Answers[Question['kind']]> {
    if (question.kind === 'sweep') return this.askSweep(question, asking);
    if (question.kind === 'solve') return this.askSolve(question, asking);
    if (question.kind === 'ledger' || question.kind === 'processors') return this.askLedger(question, asking);
    return isStageQuestion(question) ? this.askStage(question, asking) : this.findings.ask(question, asking);
  }

  private async askSweep(question: SweepQuestion, asking?: Asking): Promise<Answers['sweep']> {
    const studio = this.studio();
    const ask: SweepStudio['ask'] = async (job, part) => {
      this.requireUnchanged(studio);
      return this.findings.askSweep(job, part);
    };
    return sweepBy(question, { ...studio, ask }, asking);
  }

  private async askSolve(question: SolveQuestion, asking?: Asking): Promise<Answers['solve']> {
    const mixes = new SolveMixes(this.studio(), asking?.signal);
    return this.findings.askSolve(question, (blends) => mixes.with(blends), asking);
  }

  private async askLedger(
    question: LedgerQuestion | ProcessorsQuestion,
    asking?: Asking,
  ): Promise<Answers['ledger' | 'processors']> {
    const studio = this.studio();
    const ask: LedgerStudio['ask'] = async (job, part) => {
      this.requireUnchanged(studio);
      return this.findings.askLedger(job, part);
    };
    const whole = { ...studio, ask };
    return question.kind === 'ledger' ? ledgerBy(question, whole, asking) : processorsBy(question, whole, asking);
  }

  /** The worker has the paths of the mix in hand: an answer about others would be a wrong one. @throws Error */
  private requireUnchanged({ paths }: Pick<SweepStudio, 'paths'>): void {
    if (this.rendered?.paths !== paths) throw new Error(SOUND_CHANGED);
  }

  /** What sweeps and ledgers work with. @throws Error while what is rendered is not the mix in hand, or nothing sounds */
  private studio(): Omit<SweepStudio, 'ask'> {
    const { session, rendered } = this;
    if (!session || !rendered || !sameSound(this.planOf(session).plan, rendered.plan))
      throw new Error('The mix is still being rendered: ask again in a moment.');
    if (!rendered.received) throw new Error(NOTHING_SOUNDS);
    return {
      ...{ session, plan: rendered.plan, paths: rendered.paths, rough: rendered.rough },
      ...{ strips: this.cache, render: this.renderer.render, planOf: (led) => this.planOf(led) },
      received: (signal) => this.receivedGroups(session, signal),
    };
  }

  /** The groups as received, and how long they sound. */
  private async receivedGroups(session: Session, signal?: AbortSignal): ReturnType<SweepStudio['received']> {
    const { plan, sources } = this.planOf(asReceived(session));
    const paths = await this.renderer.render(plan, sources, { cache: this.cache, ...(signal ? { signal } : {}) });
    return { paths, soundFrames: settledPlan(plan, paths).soundFrames };
  }

  private async askStage(
    question: StageQuestion | FitQuestion,
    asking?: Asking,
  ): Promise<Answers[(StageQuestion | FitQuestion)['kind']]> {
    const { session, rendered } = this;
    if (!session || !rendered) throw new Error('There is no sound yet: ask again once it is rendered.');
    if (!rendered.received) throw new Error(NOTHING_SOUNDS);
    const { plan, sources } = this.planOf(session);
    const sounds = processorSounds(this.chainSounds(session));
    const studio = { session, plan, sources, strips: this.cache, paths: rendered.paths, sounds };
    const { kind } = question;
    const job =
      kind === 'fit preset' ? fitJobOf(question, studio, asking?.signal) : stageJobOf(question, studio, asking?.signal);
    return this.findings.askStage(await job, asking);
  }

  overview(heard: Heard): Overview | null {
    return this.overviews.get(leftOut(heard) === null ? heard : 'mix') ?? this.room.passOverview(heard);
  }

  soundOverview(file: string): Overview | null {
    const sound = this.session && this.library.at(file, this.session.sampleRate);
    if (!sound) return null;
    const overview = this.soundOverviews.get(sound) ?? overviewOf(sound, secondsOf(sound));
    this.soundOverviews.set(sound, overview);
    return overview;
  }

  async print(options: PrintOptions): Promise<PrintedSong<Blob>> {
    const { rendered, session } = this;
    if (rendered && !rendered.received) throw new Error(NOTHING_SOUNDS);
    const { rough, received } = this.view.findings;
    const figures = rough ?? received;
    const known = this.view.findings.guards;
    if (!rendered || !session || !figures || !known)
      throw new Error('The mix is still being measured: print in a moment.');
    const { plan, paths } = rendered;
    const before = { name: rough ? 'rough as received' : 'tracks as received', figures };
    const variant = (kind: Variant, signal?: AbortSignal): Promise<Audio> => this.printVariant(session, kind, signal);
    const guards: PrintStudio['guards'] = (print) => (print ? this.guardsOf(print, session, known) : known);
    const ledger = (): ReportPath[] => this.reportPaths(session, plan);
    return printFiles({ session, plan, paths, variant, before, guards, ledger }, options);
  }

  /** What guards say of a print of the mix: its gain does not change the balance. */
  private guardsOf(
    { figures, details }: Omit<FullMeasurement, 'series'>,
    session: Session,
    known: readonly GuardResult[],
  ): readonly GuardResult[] {
    const { rough, received } = this.view.findings;
    const references = referencesOf({ rough, received, receivedShares: null });
    const results = checkGuards(
      guardsInForce(session.guards, guardSets[0]!),
      guardedFigures(figures, details, null),
      references,
    );
    return results.map((result) => {
      if (result.name !== 'balance drift') return result;
      return known.find(({ name }) => name === 'balance drift') ?? result;
    });
  }

  private reportPaths({ groups, buses }: Session, { paths }: Plan): ReportPath[] {
    return paths.flatMap(({ id, kind, gain }) => {
      if (gain === 0) return [];
      const { name } = [...groups, ...buses].find((path) => path.id === id)!;
      const found = this.view.findings.paths.get(id);
      const changeLu = found?.change.integratedLufs ?? null;
      return [{ name, kind, levelDb: decibelsOf(gain), share: found?.shareOfLoudness ?? null, changeLu }];
    });
  }

  private async printVariant(session: Session, kind: Variant, signal?: AbortSignal): Promise<Audio> {
    const { plan, sources } = this.planOf(variantOf(session, kind));
    if (plan.frames === 0)
      throw new Error(`There is nothing in the print of kind "${kind}": none of its tracks is on.`);
    const cache = foundOnly(this.cache);
    const paths = await this.renderer.render(plan, sources, { cache, ...(signal ? { signal } : {}) });
    return mainPrint(settledPlan(plan, paths), paths);
  }

  dispose(): void {
    this.begin();
    this.renderer.dispose();
    this.findings.dispose();
    this.room.clear();
    this.player.dispose();
    this.listeners.clear();
  }
}

/** Whether two plans have the same paths in the same order, whatever they sound like. */
const hasSamePaths = (a: Plan, b: Plan): boolean =>
  a.paths.length === b.paths.length && a.paths.every(({ id }, n) => id === b.paths[n]!.id);

const sameGains = (a: Plan, b: Plan): boolean => a.paths.every(({ gain }, n) => gain === b.paths[n]!.gain);

/** Whether two plans sound the same path by path, in the same order, so that only gains and the mix bus differ. */
const sameSound = (a: Plan, b: Plan): boolean => hasSamePaths(a, b) && soundOf(a) === soundOf(b);
