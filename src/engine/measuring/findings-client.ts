import type { PathOrigin } from '../../dsp/core/arrival.ts';
import type { GuardResult } from '../../blend/guards/guards.ts';
import type { LedgerRow } from '../../blend/ledger/ledger.ts';
import type { Audio } from '../../audio/audio.ts';
import type { Figures } from '../../measure/figures.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { gainsOf } from '../../render/mix.ts';
import type { Plan } from '../../render/plan.ts';
import type { Session } from '../../session/schema.ts';
import type { Heard, Overview, SideFindings } from '../engine.ts';
import { buffersOf, copyOf, isSameSound, type Frames } from '../excerpt.ts';
import type { FindingsReply, FindingsRequest } from './findings-messages.ts';
import FindingsWorker from './findings.worker.ts?worker';
import type { LedgerJob, LedgerPart } from '../jobs/ledger-jobs.ts';
import type { Answers, Asking, BlendQuestion, FitQuestion, Question, StageQuestion } from '../questions.ts';
import type { LedMix, SolveQuestion } from '../jobs/solve-desk.ts';
import type { FitJob, StageJob } from '../jobs/stage-desk.ts';
import type { SweepJob } from '../jobs/sweep-job.ts';

/** Whoever wants to know, as soon as each part is known. */
export interface FindingsListener {
  measured(side: 'rough' | 'received', measurement: SideFindings, overview: Overview): void;
  mix(printed: SideFindings, overview: Overview): void;
  sum(figures: Figures): void;
  rows(rows: readonly LedgerRow[], quick: boolean): void;
  guards(results: readonly GuardResult[]): void;
  /** All that can be told of the newest blend has been told. */
  settled(): void;
  /** How much of the measuring of the newest blend is done, 0..1. */
  measuring(part: number): void;
  /** Loudness of the newest blend over the stretch last asked for; `settled`: measured, not estimated. */
  level(side: Heard, lufs: number | null, settled: boolean): void;
  /** The worker stopped; `message` says why. */
  failed(message: string): void;
}

type MixWith = (blends: ReadonlyMap<string, number>) => Promise<LedMix>;

/** A question that waits for its answer. */
interface Waiting {
  readonly onProgress: ((part: number) => void) | undefined;
  readonly onRow: ((row: never) => void) | undefined;
  readonly resolve: (answer: Answers[Question['kind']] | LedgerPart) => void;
  readonly reject: (reason: Error) => void;
  /** Makes mixes that are asked for on the way to the answer. */
  readonly mixWith?: MixWith;
}

const soundsOf = (job: LedgerJob): Audio[] => {
  if (job.part === 'energy') return [job.audio];
  return (job.part === 'mix' ? job.sounds : job.received).map(({ audio }) => audio);
};

/** The page gets a turn when sending has taken so long, ms. */
const LONGEST_SENDING_MS = 8;

/** The measuring worker as the engine sees it: sounds go over once, answers to older blends are dropped. */
export class FindingsClient {
  private readonly worker = new FindingsWorker();
  /** What is told before the worker listens would be lost. */
  private listens = false;
  /** What is still to be sent, in order. */
  private readonly waitingToGo: (() => void)[] = [];
  private isPaused = false;
  private sent = new Map<string, Audio>();
  private ticket = 0;
  private levelsTicket = 0;
  private readonly loudness = new Map<number, (lufs: number | null) => void>();
  private loudnessTicket = 0;
  private readonly waiting = new Map<number, Waiting>();
  private questionTicket = 0;

  constructor(listener: FindingsListener) {
    this.worker.onmessage = ({ data }: MessageEvent<FindingsReply>) => {
      if (data.kind === 'listening') {
        this.listens = true;
        return this.sendOn();
      }
      if (data.kind === 'measured') return listener.measured(data.side, data.measurement, data.overview);
      if (data.kind === 'loudness') return this.tellLoudness(data.ticket, data.lufs);
      if (data.kind === 'level') {
        if (data.ticket === this.levelsTicket) listener.level(data.side, data.lufs, data.settled);
        return;
      }
      if (data.kind === 'led') return void this.tellMix(data.ticket, data.blends);
      if (data.kind === 'part' || data.kind === 'row' || data.kind === 'answer' || data.kind === 'refusal')
        return this.hearAnswer(data);
      if (data.ticket !== this.ticket) return;
      if (data.kind === 'mix') listener.mix(data.printed, data.overview);
      else if (data.kind === 'sum') listener.sum(data.figures);
      else if (data.kind === 'rows') listener.rows(data.rows, data.quick);
      else if (data.kind === 'guards') listener.guards(data.results);
      else if (data.kind === 'measuring') listener.measuring(data.part);
      else listener.settled();
    };
    this.worker.onerror = (event) => listener.failed(`measuring stopped: ${event.message}`);
  }

  private tell(request: FindingsRequest, transfer: Transferable[] = []): void {
    this.after(() => this.worker.postMessage(request, transfer));
  }

  /** A copy of a sound goes over under this name, for what is told next; copying many must not hold the page up. */
  private tellSound(name: string, sound: Audio): void {
    this.after(() => {
      const audio = copyOf(sound);
      this.worker.postMessage({ kind: 'sound', name, audio } satisfies FindingsRequest, buffersOf(audio));
    });
  }

  /** Sends after all that was told before. */
  private after(send: () => void): void {
    this.waitingToGo.push(send);
    if (this.listens && !this.isPaused) this.sendOn();
  }

  private sendOn(): void {
    const since = performance.now();
    let send = this.waitingToGo.shift();
    for (; send; send = this.waitingToGo.shift()) {
      send();
      if (performance.now() - since > LONGEST_SENDING_MS) break;
    }
    this.isPaused = this.waitingToGo.length > 0;
    if (this.isPaused) setTimeout(() => this.sendOn());
  }

  private tellLoudness(ticket: number, lufs: number | null): void {
    this.loudness.get(ticket)?.(lufs);
    this.loudness.delete(ticket);
  }

  private hearAnswer(data: Extract<FindingsReply, { kind: 'part' | 'row' | 'answer' | 'refusal' }>): void {
    const question = this.waiting.get(data.ticket);
    if (data.kind === 'part') return question?.onProgress?.(data.part);
    // The kind of question tells the kind of row.
    if (data.kind === 'row') return question?.onRow?.(data.row as never);
    this.waiting.delete(data.ticket);
    if (data.kind === 'answer') question?.resolve(data.answer);
    else question?.reject(new Error(data.message));
  }

  private async tellMix(ticket: number, blends: ReadonlyMap<string, number>): Promise<void> {
    const question = this.waiting.get(ticket);
    if (!question?.mixWith) return;
    try {
      const mix = await question.mixWith(blends);
      this.tell({ kind: 'mix with', ticket, mix }, buffersOf(...mix.sounds.map(({ audio }) => audio)));
    } catch (error) {
      this.tell({ kind: 'mix with', ticket, mix: error instanceof Error ? error.message : String(error) });
    }
  }

  /** Asks for blends; `mixWith` makes the mixes that are printed on the way. Rejects as `ask` does. */
  askSolve(question: SolveQuestion, mixWith: MixWith, asking?: Asking): Promise<Answers['solve']> {
    const send = (ticket: number): void => this.tell({ kind: 'ask', ticket, question });
    return this.waitFor(send, asking, mixWith) as Promise<Answers['solve']>;
  }

  /** Asks about the newest blend. Rejects with one clear sentence, or with an AbortError when it was withdrawn. */
  ask(question: BlendQuestion, asking?: Asking): Promise<Answers[BlendQuestion['kind']]> {
    return this.waitFor((ticket) => this.tell({ kind: 'ask', ticket, question }), asking) as Promise<
      Answers[BlendQuestion['kind']]
    >;
  }

  /** Asks about one processor. Its sound moves over and is gone here. Rejects as `ask` does. */
  askStage(job: StageJob | FitJob, asking?: Asking): Promise<Answers[(StageQuestion | FitQuestion)['kind']]> {
    const { sound, key } = job.arrival;
    const buffers = buffersOf(sound, ...(key ? [key] : []));
    return this.waitFor((ticket) => this.tell({ kind: 'stage', ticket, job }, buffers), asking) as Promise<
      Answers[(StageQuestion | FitQuestion)['kind']]
    >;
  }

  /** Asks for a part of a sweep. Its sounds move over and are gone here. Rejects as `ask` does. */
  askSweep(job: SweepJob, asking?: Asking): Promise<Answers['sweep']> {
    const { begin, round } = job;
    const { rough = null, received = [] } = begin?.sounds ?? {};
    const sounds = [...(rough ? [rough] : []), ...[...received, ...round.sounds].map(({ audio }) => audio)];
    const buffers = buffersOf(...sounds);
    return this.waitFor((ticket) => this.tell({ kind: 'sweep', ticket, job }, buffers), asking) as Promise<
      Answers['sweep']
    >;
  }

  /** Asks for a part of a ledger. Its sounds move over and are gone here. Rejects as `ask` does. */
  askLedger<J extends LedgerJob>(job: J, asking?: Asking): Promise<LedgerPart<J>> {
    const buffers = buffersOf(...soundsOf(job));
    return this.waitFor((ticket) => this.tell({ kind: 'ledger', ticket, job }, buffers), asking) as Promise<
      LedgerPart<J>
    >;
  }

  private waitFor(
    send: (ticket: number) => void,
    { onProgress, onRow, signal }: Asking = {},
    mixWith?: MixWith,
  ): Promise<Answers[Question['kind']] | LedgerPart> {
    const ticket = ++this.questionTicket;
    return new Promise((resolve, reject) => {
      if (signal?.aborted) return reject(signal.reason as Error);
      this.waiting.set(ticket, { onProgress, onRow, resolve, reject, ...(mixWith ? { mixWith } : {}) });
      signal?.addEventListener('abort', () => {
        if (!this.waiting.delete(ticket)) return;
        this.tell({ kind: 'forget', ticket });
        reject(signal.reason as Error);
      });
      send(ticket);
    });
  }

  /** The groups as received: what is held against them is their share of the loudness. They are copied over. */
  groups(groups: RenderedPaths): void {
    for (const [id, audio] of groups) this.tellSound(`group ${id}`, audio);
    this.tell({ kind: 'groups', ids: [...groups.keys()] });
  }

  /** Loudness of a sound as heard, LUFS. The sound is copied over and not kept. */
  loudnessOf(sound: Audio): Promise<number | null> {
    const ticket = ++this.loudnessTicket;
    const audio = copyOf(sound);
    return new Promise((resolve) => {
      this.loudness.set(ticket, resolve);
      this.tell({ kind: 'loudness', ticket, audio }, buffersOf(audio));
    });
  }

  /** Asks for levels of the newest blend: the mix, or the mix without a path. Answers to older questions are dropped. */
  levels(compared: readonly Heard[], others: readonly Heard[], frames: Frames | null): void {
    this.tell({ kind: 'levels', ticket: ++this.levelsTicket, compared, others, frames });
  }

  measure(side: 'rough' | 'received', audio: Audio, seconds: number): void {
    this.tell({ kind: 'measure', side, audio, seconds });
  }

  /** New rendered paths; only sounds that the worker does not have are copied over. */
  paths(paths: RenderedPaths, origins: ReadonlyMap<string, PathOrigin>): void {
    for (const [id, audio] of paths) if (!isSameSound(audio, this.sent.get(id))) this.tellSound(`path ${id}`, audio);
    this.sent = new Map(paths);
    this.tell({ kind: 'paths', paths: [...paths.keys()].map((id) => ({ id, ...origins.get(id)! })) });
  }

  /** The blend as it is now; `seconds` is the length that overviews cover. */
  blend(session: Session, plan: Plan, seconds: number, against: readonly ('rough' | 'received')[]): void {
    this.ticket++;
    this.tell({
      kind: 'blend',
      ticket: this.ticket,
      session,
      against,
      gains: [...gainsOf(plan)],
      mixBus: plan.mixBus,
      soundFrames: plan.soundFrames,
      seconds,
    });
  }

  /** Nothing sounds any more. */
  nothing(): void {
    this.sent = new Map();
    this.tell({ kind: 'nothing', ticket: ++this.ticket });
  }

  dispose(): void {
    this.worker.terminate();
  }
}
