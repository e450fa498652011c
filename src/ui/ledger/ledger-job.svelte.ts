import type { LedgerRow } from '../../blend/ledger/ledger.ts';
import type { ProcessorRow } from '../../blend/ledger/processor-rows.ts';
import type { Section, Session } from '../../session/schema.ts';
import type { Engine } from '../../engine/engine.ts';
import type { StretchLedger } from '../../engine/questions.ts';
import { EachFrame } from '../shared/each-frame.ts';
import { UnderWay } from '../shared/under-way.svelte.ts';

/** A ledger that was answered. */
interface Answer {
  readonly ledger: StretchLedger;
  /** null: it is of the whole song. */
  readonly section: Section | null;
  /** The session that it is of. */
  readonly of: Session;
  /** What each processor of a path does, where it was asked for. */
  readonly processors: Readonly<Record<string, readonly ProcessorRow[]>>;
}

/** What is under way, and how far, 0..1. `path`: its processors; null: the ledger itself. */
interface Work {
  readonly path: string | null;
  readonly part: number;
}

/** A session without what nobody hears. */
const soundOf = (session: Session): string =>
  JSON.stringify({ ...session, passes: [], trials: [], clientNotes: [], guards: null });

/** The ledger of a stretch: asked for, under way, or there. */
export class LedgerJob {
  #answer = $state.raw<Answer | null>(null);
  /** Rows that have come of the ledger under way. */
  #coming = $state.raw<readonly LedgerRow[]>([]);
  #section = $state.raw<Section | null>(null);
  readonly #underWay = new UnderWay();
  /** What is asked for: processors of a path; null: the ledger itself. */
  #path = $state.raw<string | null>(null);

  constructor(
    private readonly engine: Engine,
    private readonly session: () => Session | null,
    private readonly announce: (words: string) => void,
  ) {}

  get answer(): Answer | null {
    return this.#answer;
  }
  /** Rows of the ledger under way, each as soon as it is measured. */
  get coming(): readonly LedgerRow[] {
    return this.#underWay.part === null ? [] : this.#coming;
  }
  get work(): Work | null {
    const { part } = this.#underWay;
    return part === null ? null : { path: this.#path, part };
  }
  /** Why there is no answer: one sentence. */
  get fault(): string | null {
    return this.#underWay.fault;
  }
  /** The stretch that is asked for: a section that the session no longer has is not chosen. */
  get section(): Section | null {
    const chosen = JSON.stringify(this.#section);
    return this.session()?.sections.find((section) => JSON.stringify(section) === chosen) ?? null;
  }
  /** True when something that is heard has changed since. */
  get isOld(): boolean {
    const now = this.session();
    const of = this.#answer?.of;
    return of !== undefined && now !== null && now !== of && soundOf(now) !== soundOf(of);
  }

  /** Takes another stretch, and asks for its ledger. */
  choose(section: Section | null): void {
    this.#section = section;
    void this.run();
  }

  run(): Promise<void> {
    const { section } = this;
    const of = this.session()!;
    this.#path = null;
    return this.#underWay.run(async (asking) => {
      this.#coming = [];
      const rows: LedgerRow[] = [];
      const show = new EachFrame(() => {
        if (!asking.signal.aborted) this.#coming = [...rows];
      });
      const onRow = (row: LedgerRow): void => {
        rows.push(row);
        show.ask();
      };
      const ledger = await this.engine.ask({ kind: 'ledger', section }, { ...asking, onRow });
      show.drop();
      this.#answer = { ledger, section, of, processors: {} };
      this.announce('The ledger is measured.');
    });
  }

  /** Asks what each processor of a path does, over the stretch of the answer. */
  measureProcessors(path: string): Promise<void> {
    const answer = this.#answer!;
    this.#path = path;
    return this.#underWay.run(async (asking) => {
      this.#coming = [];
      const rows = await this.engine.ask({ kind: 'processors', path, section: answer.section }, asking);
      this.#answer = { ...answer, processors: { ...answer.processors, [path]: rows } };
      this.announce('The processors are measured.');
    });
  }

  cancel(): void {
    this.#underWay.cancel();
  }

  /** Another song is in hand. */
  clear(): void {
    this.#underWay.clear();
    this.#answer = null;
    this.#section = null;
  }
}
