import type { PrintOrder } from '../../files/print/print-order.ts';
import type { PrintedSong } from '../../files/print/print-song.ts';
import type { Session } from '../../session/schema.ts';
import type { AudioFileFacts, AudioFiles, Range } from '../engine.ts';
import type { Frames } from '../excerpt.ts';
import { plainSentence } from '../message.ts';
import type { JobReport } from '../job.ts';
import { NO_ANSWER, type Answers, type Question } from '../questions.ts';
import { changed, type Change } from './changes.ts';
import type { EngineHost } from './engine-host.ts';
import type { LevelsAsked } from './level-answers.ts';
import { outcomeOf } from './outcome.ts';
import type { SoundFeed } from './sound-feed.ts';
import type { EngineCalls, EngineMessage, Outcome } from './protocol.ts';

const asIs = (error: unknown): string => (error instanceof Error ? error.message : String(error));
const answerFault = (error: unknown): string => plainSentence(error, NO_ANSWER);

/** The host's side of the calls of the main thread. */
export class HostCalls implements EngineCalls {
  private session: Session | null = null;
  /** The edition that the session was opened with. */
  private opened = 0;
  private sounds: SoundFeed | null = null;
  private readonly stops = new Map<number, AbortController>();

  constructor(
    private readonly host: EngineHost,
    private readonly tell: (message: EngineMessage) => void,
  ) {}

  open(edition: number, session: Session, files: AudioFiles, held: readonly string[]): Promise<Outcome<null>> {
    const work = async (): Promise<null> => {
      await this.host.open(edition, session, files, held);
      this.session = session;
      this.opened = edition;
      return null;
    };
    return outcomeOf(work, asIs);
  }

  addFiles(edition: number, files: AudioFiles): Promise<Outcome<readonly AudioFileFacts[]>> {
    return outcomeOf(() => this.host.addFiles(edition, files), asIs);
  }

  apply(edition: number, opened: number, change: Change | null, isPlaying: boolean, solo: readonly string[]): void {
    // The edited session has been replaced by another.
    if (!this.session || opened !== this.opened) return;
    if (change) this.session = changed(this.session, change) as Session;
    this.host.apply(edition, this.session, isPlaying, solo);
  }

  cancel(edition: number): void {
    this.host.cancel(edition);
  }

  wantPasses(ids: readonly string[]): void {
    this.host.wantPasses(ids);
  }

  askLevels(asked: LevelsAsked): void {
    this.host.askLevels(asked);
  }

  loudnessOf(id: number, frames: Frames | null): Promise<number | null | undefined> {
    return this.host.loudnessOf(id, frames);
  }

  feed(port: MessagePort): void {
    this.sounds?.close();
    this.sounds = this.host.feed(port);
  }

  touch(path: string | null): void {
    this.host.touch(path);
  }

  loop(range: Range | null): void {
    this.host.loop(range);
  }

  ask(number: number, question: Question): Promise<Outcome<Answers[Question['kind']]>> {
    const tell = (told: JobReport<unknown>): void => this.tell({ kind: 'question', number, told });
    return this.stoppable(number, (signal) =>
      this.host.ask(question, { signal, onProgress: (part) => tell({ part }), onRow: (row: unknown) => tell({ row }) }),
    );
  }

  print(number: number, order: PrintOrder): Promise<Outcome<PrintedSong<Blob>>> {
    const onProgress = (part: number): void => this.tell({ kind: 'question', number, told: { part } });
    return this.stoppable(number, (signal) => this.host.print({ ...order, signal, onProgress }));
  }

  withdraw(number: number): void {
    this.stops.get(number)?.abort(new DOMException('not wanted any more', 'AbortError'));
  }

  private async stoppable<T>(number: number, work: (signal: AbortSignal) => Promise<T>): Promise<Outcome<T>> {
    const stop = new AbortController();
    this.stops.set(number, stop);
    const outcome = await outcomeOf(() => work(stop.signal), answerFault);
    this.stops.delete(number);
    return outcome;
  }
}
