import type { MonitorCheck } from '../audition/monitor-check.ts';
import { transfer } from 'comlink';
import { leftOut, passIn } from '../audition/heard.ts';
import type { PrintedSong } from '../files/print/print-song.ts';
import type { Session } from '../session/schema.ts';
import { soloed } from '../session/solo.ts';
import type { Received } from '../intake/received.ts';
import { EMPTY_VIEW } from './empty-view.ts';
import type {
  AudioFileFacts,
  AudioFiles,
  Engine,
  EngineView,
  Findings,
  Heard,
  Meters,
  Overview,
  PrintOptions,
  Range,
} from './engine.ts';
import { ListeningRoom } from './listening/listening-room.ts';
import { chainsMoved, mixBusMoved } from './listening/direct-moves.ts';
import { Player } from './listening/player.ts';
import type { JobReport } from './job.ts';
import type { AnswerTo, Asking, Question, RowOf } from './questions.ts';
import type { ReceivedFiles } from './received/received-files.ts';
import { receiveInWorker } from './received/receive-in-worker.ts';
import { SessionInWorker } from './session-in-worker.ts';
import { doneOf } from './worker/outcome.ts';
import type { EngineMessage, Outcome, Prints, RemoteCalls } from './worker/protocol.ts';

/** An open question to the worker: callbacks of its asker. */
interface Following {
  readonly onProgress?: ((part: number) => void) | undefined;
  readonly onRow?: ((row: never) => void) | undefined;
  readonly signal?: AbortSignal | undefined;
}

/**
 * The engine of the app on the main thread: a worker holds the sound, renders and measures; this class holds the view for the screen
 * and the player.
 */
export class BenchEngine implements Engine {
  view = EMPTY_VIEW;

  private readonly listeners = new Set<() => void>();
  private readonly meterListeners = new Set<(meters: Meters) => void>();
  private readonly tellMeters = (meters: Meters): void => this.meterListeners.forEach((listener) => listener(meters));
  /** Counts edits and openings; messages of older editions are ignored. */
  private edition = 0;
  private readonly worker = new SessionInWorker(
    (message) => this.hearMessage(message),
    (reason) => this.lose(reason),
  );
  private readonly overviews = new Map<Heard, Overview>();
  private passOverviews: Prints['overviews'] = new Map();
  private readonly soundOverviews = new Map<string, Overview>();
  private readonly questions = new Map<number, Following>();
  private lastNumber = 0;
  private levelsAsked = 0;
  private touched: string | null = null;
  private session: Session | null = null;
  private soloIds: readonly string[] = [];
  private range: Range | null = null;
  /** The worker knows which section is in loop. */
  private isLoopTold = true;
  /** The edition whose mix bus was sent directly to the player. */
  private movedMixBus = 0;
  private readonly player = new Player(
    (port) => {
      this.worker.send((calls) => calls.feed(transfer(port, [port])));
      this.worker.send((calls) => calls.touch(this.touched));
    },
    () => this.show({ playing: false, waits: false }),
    (waits) => this.show({ waits }),
  );
  private readonly room = new ListeningRoom(
    this.player,
    {
      loudnessOf: ({ id }, frames) => this.worker.call((calls) => calls.loudnessOf(id, frames)).catch(() => undefined),
      levels: (compared, others, frames) => {
        const asked = { number: ++this.levelsAsked, compared, others, frames };
        this.worker.send((calls) => calls.askLevels(asked));
      },
    },
    (ids) => this.worker.send((calls) => calls.wantPasses(ids)),
    (path) => this.changeWithout(path),
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

  /** Change of loudness when a path is left out, LU; null: silence remains; undefined: not known. */
  private changeWithout(path: string): number | null | undefined {
    const row = this.view.findings.paths.get(path);
    if (row?.without.integratedLufs === null) return null;
    const change = row?.change.integratedLufs ?? undefined;
    return change === undefined ? undefined : -change;
  }

  private hearMessage(message: EngineMessage): void {
    switch (message.kind) {
      case 'view':
        return this.show(message.change);
      case 'findings':
        return this.find(message.change);
      case 'settled':
        if (message.edition === this.edition) this.show({ isMeasured: true });
        return;
      case 'overview':
        put(this.overviews, message.side, message.overview);
        return this.show({});
      case 'sound overview':
        put(this.soundOverviews, message.file, message.overview);
        return this.show({});
      case 'question':
        return this.hearOfQuestion(message.number, message.told);
      default:
        return this.hearOfListening(message);
    }
  }

  private hearOfListening(
    message: Extract<
      EngineMessage,
      { kind: 'mix bus' | 'hearable' | 'growing' | 'nothing to hear' | 'prints' | 'level' }
    >,
  ): void {
    switch (message.kind) {
      case 'mix bus':
        // Later moves are heard already.
        if (message.edition > this.movedMixBus) this.room.setMixBus(message.mixBus);
        return;
      case 'hearable':
        return this.room.take(message.hearable, message.seconds, message.isOvertaken);
      case 'growing':
        return this.room.takeGrowing(message.hearable, message.seconds, message.levels);
      case 'nothing to hear':
        this.pause();
        this.overviews.clear();
        return this.room.clear();
      case 'prints':
        this.passOverviews = message.prints.overviews;
        return this.room.takePrints(message.prints);
      case 'level':
        if (message.level.asked === this.levelsAsked) this.room.level(message.level.side, message.level);
    }
  }

  private find(change: Partial<Findings>): void {
    this.show({ findings: { ...this.view.findings, ...change } });
    for (const side of ['rough', 'received', 'mix'] as const) {
      const found = change[side];
      if (found) this.room.measured(side, found.integratedLufs);
    }
    if (change.paths) this.room.changesKnown();
  }

  private hearOfQuestion(number: number, told: JobReport<unknown>): void {
    const question = this.questions.get(number);
    if ('part' in told) question?.onProgress?.(told.part);
    // The kind of question determines the kind of row.
    else question?.onRow?.(told.row as never);
  }

  private lose({ message }: Error): void {
    this.player.loseFeed();
    this.show({ playing: false, waits: false });
    this.isLoopTold = false;
    const why = message.replace(/^Uncaught (\w+: )?/, '').replace(/[.\s]*$/, '');
    const wayOn = 'The session is kept: try again, or undo the last change.';
    this.show({ state: { phase: 'failed', progress: 0, message: `The engine stopped (${why}). ${wayOn}` } });
  }

  /** Begins a new edition, which replaces running work. */
  private begin(): number {
    this.show({ isMeasured: false });
    return ++this.edition;
  }

  async open(session: Session, files: AudioFiles): Promise<void> {
    await this.worker.open(this.begin(), session, files);
    this.session = session;
    this.soloIds = [];
    this.room.follow(session);
    this.player.seek(0);
  }

  addFiles(files: AudioFiles): Promise<readonly AudioFileFacts[]> {
    return this.worker.addFiles(this.begin(), files);
  }

  apply(session: Session): void {
    const edition = this.begin();
    if (!this.isLoopTold) this.tellLoop();
    if (this.session && this.view.playing) this.moveAtOnce(this.session, session, edition);
    this.session = session;
    this.room.follow(soloed(session, this.soloIds));
    this.worker.apply(edition, session, this.view.playing, this.soloIds);
  }

  /** Plays the parts of an edit that need no rendering at once, before the worker receives it. */
  private moveAtOnce(before: Session, after: Session, edition: number): void {
    const chains = chainsMoved(before, after);
    if (chains.length > 0) this.player.moveLive({ chains, edition });
    const mixBus = mixBusMoved(before, after);
    if (!mixBus) return;
    this.movedMixBus = edition;
    this.room.setMixBus(mixBus);
  }

  solo(ids: readonly string[]): void {
    this.soloIds = ids;
    if (this.session) this.apply(this.session);
  }

  /** @throws Error in one clear sentence while something is soloed: the rendered sound is then not the whole mix */
  private requireWhole(): void {
    if (this.soloIds.length > 0) throw new Error('Something is soloed: end solo first, as this needs the whole mix.');
  }

  touch(path: string | null): void {
    this.touched = path;
    this.worker.send((calls) => calls.touch(path));
  }

  cancel(): void {
    const edition = this.begin();
    this.worker.send((calls) => calls.cancel(edition));
  }

  async play(): Promise<void> {
    const playing = await this.player.play();
    this.show({ playing });
  }

  pause(): void {
    this.player.pause();
    this.show({ playing: false, waits: false });
  }

  seek(seconds: number): void {
    this.player.seek(seconds);
  }

  loop(range: Range | null): void {
    this.player.loop(range);
    this.room.loop(range);
    this.range = range;
    this.tellLoop();
  }

  private tellLoop(): void {
    const { range } = this;
    this.isLoopTold = true;
    this.worker.send((calls) => calls.loop(range));
  }

  hear(heard: Heard, throughSilence = false): void {
    this.room.hear(heard, throughSilence);
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

  check(check: MonitorCheck | null): void {
    this.player.check(check);
  }

  listenToMeters(listener: (meters: Meters) => void): () => void {
    this.meterListeners.add(listener);
    this.player.meter(this.tellMeters);
    return () => {
      this.meterListeners.delete(listener);
      if (this.meterListeners.size === 0) this.player.meter(null);
    };
  }

  heardBands(): readonly number[] {
    return this.player.bands();
  }

  position(): number {
    return this.player.position();
  }

  async ask<Q extends Question>(question: Q, asking: Asking<RowOf<Q>> = {}): Promise<AnswerTo<Q>> {
    if (question.kind !== 'reduction' && question.kind !== 'stage spectrum') this.requireWhole();
    return this.follow(asking, (calls, number) => calls.ask(number, question)) as Promise<AnswerTo<Q>>;
  }

  receive(files: ReceivedFiles, asking: Asking = {}): Promise<Received> {
    return receiveInWorker(files, asking);
  }

  async print({ onProgress, signal, ...order }: PrintOptions): Promise<PrintedSong<Blob>> {
    this.requireWhole();
    return this.follow({ onProgress, signal }, (calls, number) => calls.print(number, order));
  }

  /** Asks the worker. Rejects with one clear sentence, or with the signal's reason as soon as it aborts. */
  private async follow<T>(
    following: Following,
    call: (calls: RemoteCalls, number: number) => Promise<Outcome<T>>,
  ): Promise<T> {
    const { signal } = following;
    signal?.throwIfAborted();
    const number = ++this.lastNumber;
    this.questions.set(number, following);
    let withdraw = (): void => {};
    const withdrawn = new Promise<never>((_, reject) => {
      withdraw = () => {
        this.questions.delete(number);
        this.worker.send((calls) => calls.withdraw(number));
        reject(signal!.reason as Error);
      };
    });
    signal?.addEventListener('abort', withdraw, { once: true });
    try {
      return doneOf(await Promise.race([this.worker.call((calls) => call(calls, number)), withdrawn]));
    } finally {
      this.questions.delete(number);
      signal?.removeEventListener('abort', withdraw);
    }
  }

  overview(heard: Heard): Overview | null {
    const known = this.overviews.get(leftOut(heard) === null ? heard : 'mix');
    return known ?? this.passOverviews.get(passIn(heard) ?? '') ?? null;
  }

  soundOverview(file: string): Overview | null {
    return this.soundOverviews.get(file) ?? null;
  }

  dispose(): void {
    this.worker.dispose();
    this.room.clear();
    this.player.dispose();
    this.listeners.clear();
  }
}

const put = <Key, Value>(map: Map<Key, Value>, key: Key, value: Value | null): void => {
  if (value === null) map.delete(key);
  else map.set(key, value);
};
