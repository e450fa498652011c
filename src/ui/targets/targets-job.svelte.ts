import { USUAL_REACH_DB, type SolveStep } from '../../blend/solve/solution.ts';
import { setBlends } from '../../session/edits/blend-edits.ts';
import type { Session } from '../../session/schema.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { Solved } from '../../engine/questions.ts';
import { movedBlends, targetText, type TargetRow } from './target-rows.ts';

const FIRST: TargetRow = { figure: 'stereo.sideToMidDb', relation: 'max', value: -9 };

/** What is asked of the blends, and what was found: it stays while other panels are looked at. */
export class TargetsJob {
  readonly #bench: Bench;
  rows = $state.raw<readonly TargetRow[]>([FIRST]);
  /** How far a blend may move from where it is, dB. */
  withinDb = $state(USUAL_REACH_DB);
  #solved = $state.raw<Solved | null>(null);
  /** The session that the answer is of. */
  #solvedOf = $state.raw<Session | null>(null);
  #cancel = $state.raw<AbortController | null>(null);
  #part = $state.raw(0);
  #steps = $state.raw<readonly SolveStep[]>([]);
  #asked = $state.raw<readonly TargetRow[]>([]);

  constructor(bench: Bench) {
    this.#bench = bench;
  }

  get solved(): Solved | null {
    return this.#solved;
  }
  get isAsking(): boolean {
    return this.#cancel !== null;
  }
  /** How far it is, 0..1. */
  get part(): number {
    return this.#part;
  }
  /** Prints of the search, the mix as it is first, by the targets that were asked for. */
  get steps(): readonly SolveStep[] {
    return this.#steps;
  }
  get asked(): readonly TargetRow[] {
    return this.#asked;
  }
  /** The blends that were found are those of the mix, which is otherwise as it was. */
  get isApplied(): boolean {
    const { applied } = this.#bench;
    const of = this.#solvedOf;
    if (!this.#solved || !applied || !of || applied === of) return false;
    return JSON.stringify(applied) === JSON.stringify(setBlends(of, movedBlends(this.#solved)));
  }
  /** The mix has changed since. */
  get isOld(): boolean {
    return this.#solved !== null && this.#bench.applied !== this.#solvedOf && !this.isApplied;
  }

  change(place: number, fields: Partial<TargetRow>): void {
    this.rows = this.rows.with(place, { ...this.rows[place]!, ...fields });
  }

  async solve(): Promise<void> {
    const cancel = new AbortController();
    this.#cancel = cancel;
    this.#part = 0;
    const onProgress = (part: number): void => void (this.#part = part);
    this.#steps = [];
    this.#asked = this.rows;
    const onRow = (step: SolveStep): void => void (this.#steps = [...this.#steps, step]);
    this.#solved = null;
    this.#solvedOf = this.#bench.applied;
    const question = {
      kind: 'solve',
      targets: this.rows.map(targetText),
      limits: [],
      withinDb: this.withinDb,
    } as const;
    await this.#bench.attempt('sound', async () => {
      try {
        this.#solved = await this.#bench.engine.ask(question, { signal: cancel.signal, onProgress, onRow });
        this.#bench.announce('The search for blends is done.');
      } catch (error) {
        if (!cancel.signal.aborted) throw error;
      }
    });
    this.#cancel = null;
  }

  cancel(): void {
    this.#cancel?.abort();
  }
}

const jobs = new WeakMap<Bench, TargetsJob>();

/** The one job of a bench. */
export const targetsJobOf = (bench: Bench): TargetsJob => {
  const job = jobs.get(bench) ?? new TargetsJob(bench);
  jobs.set(bench, job);
  return job;
};
