import type { History } from '../../session/history.ts';
import type { Session } from '../../session/schema.ts';
import { sessionText } from '../../session/read/serialize.ts';
import { changeOf, type Change } from '../worker/changes.ts';
import type { KeptDatabase, KeptRecord, KeptStep } from './kept-database.ts';

/** All that is stored of the current state of a session. */
export interface Snapshot {
  readonly history: History;
  readonly isInFile: boolean;
  /** When it was changed last, ms since 1970. */
  readonly changed: number;
  readonly files: KeptRecord['files'];
  readonly view: unknown;
  /** The user's file on disk; null: none. */
  readonly place?: unknown;
}

type Step = History['past'][number];

/** A step with the state that its change is applied to. */
interface Written {
  readonly kept: KeptStep;
  readonly from: Session;
  readonly change: Change | null;
}

/** Thrown where another writer has taken the session. */
export class TakenError extends Error {}

/** Each step of a history with the state that it is applied to, from the first of the past to the last of the future. */
const ledFrom = ({ past, present, future }: History): (readonly [Step, Session])[] => [
  ...past.map((step, n) => [step, past[n + 1]?.session ?? present] as const),
  ...future.map((step, n) => [step, future[n - 1]?.session ?? present] as const),
];

/**
 * Writes one session with its history: the whole document, and the change of each step, once. One write at a time. The first writer
 * takes the session; earlier writers are refused from then on.
 */
export class SessionWriter {
  readonly #writer = crypto.randomUUID();
  readonly #known = new WeakMap<Step, Written>();
  /** Numbers of the stored steps. */
  #onDisk: ReadonlySet<number> = new Set();
  #lastNumber = 0;
  #isMine = false;

  constructor(
    private readonly database: KeptDatabase,
    readonly id: string,
  ) {}

  /** Marks the steps of a history as written, as they were read from the disk. */
  know(history: History, steps: readonly KeptStep[]): void {
    ledFrom(history).forEach(([step, from], n) => this.#known.set(step, { kept: steps[n]!, from, change: null }));
    this.#onDisk = new Set(steps.map(({ number }) => number));
    this.#lastNumber = Math.max(0, ...this.#onDisk);
  }

  /** @throws TakenError where another writer has it; the browser's error where it refuses, and then nothing is written */
  async write({ history, isInFile, changed, files, view, place = null }: Snapshot): Promise<void> {
    const all = ledFrom(history).map(([step, from]) => this.#written(step, from));
    const kept = all.map((each) => each.kept);
    const text = sessionText(history.present);
    const numbers = new Set(kept.map(({ number }) => number));
    const record: KeptRecord = {
      ...{ id: this.id, title: history.present.title, changed, writer: this.#writer },
      ...{ isInFile, files, view, place },
      bytes: kept.reduce((sum, { bytes }) => sum + bytes, text.length),
      past: kept.slice(0, history.past.length),
      future: kept.slice(history.past.length),
    };
    const fresh = all.filter((each) => !this.#onDisk.has(each.kept.number));
    const gone = [...this.#onDisk].filter((number) => !numbers.has(number));
    await this.#put(record, text, fresh, gone);
    this.#isMine = true;
    this.#onDisk = numbers;
  }

  #written(step: Step, from: Session): Written {
    const known = this.#known.get(step);
    if (known?.from === from) return known;
    const change = changeOf(from, step.session);
    const bytes = JSON.stringify(change).length;
    const written = { kept: { number: ++this.#lastNumber, label: step.label, bytes }, from, change };
    this.#known.set(step, written);
    return written;
  }

  async #put(record: KeptRecord, text: string, fresh: readonly Written[], gone: readonly number[]): Promise<void> {
    const { id } = this;
    const transaction = this.database.transaction(['sessions', 'documents', 'steps'], 'readwrite');
    const sessions = transaction.objectStore('sessions');
    const steps = transaction.objectStore('steps');
    const before = await sessions.get(id);
    if (this.#isMine && before?.writer !== this.#writer) {
      transaction.abort();
      await transaction.done.catch(() => undefined);
      throw new TakenError(`session ${id} is written elsewhere`);
    }
    await Promise.all([
      sessions.put(record, id),
      transaction.objectStore('documents').put(text, id),
      ...fresh.map(({ kept, change }) => steps.put(change, [id, kept.number])),
      ...gone.map((number) => steps.delete([id, number])),
      transaction.done,
    ]);
  }
}
