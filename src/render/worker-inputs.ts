import { WORKER_INPUT_BYTES } from './memory-budget.ts';
import type { RenderRequest } from './render-messages.ts';

/** One sound that a job needs. */
export interface Input {
  readonly of: object;
  readonly sampleRate: number;
  readonly channels: readonly Float32Array[];
}

const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));
const bytesOf = ({ channels }: Input): number => channels.reduce((sum, { byteLength }) => sum + byteLength, 0);

/** What a worker has of sources and strips: each is copied over once, and stays there within a budget of bytes. */
export class WorkerInputs {
  private readonly numbers = new WeakMap<object, number>();
  private last = 0;
  /** Bytes of what the worker has by number; what was used longest ago comes first. */
  private readonly held = new Map<number, number>();
  /** What came last is copied over after what came before. */
  private sending: Promise<void> = Promise.resolve();

  constructor(
    private readonly tell: (request: RenderRequest, transfer?: Transferable[]) => void,
    private readonly budget = WORKER_INPUT_BYTES,
  ) {}

  /** The number that stands for a sound. */
  numberOf(sound: object): number {
    const number = this.numbers.get(sound) ?? ++this.last;
    this.numbers.set(sound, number);
    return number;
  }

  /** Bytes that the worker holds. */
  get bytes(): number {
    return [...this.held.values()].reduce((sum, bytes) => sum + bytes, 0);
  }

  /** Copies over what the worker lacks, a channel at a time; `then` comes right behind it, before anything is dropped. */
  provide(inputs: readonly Input[], then: () => void, signal: AbortSignal | undefined): Promise<void> {
    const sent = this.sending.then(async () => {
      for (const input of inputs) {
        if (signal?.aborted) return;
        await this.send(input);
      }
      then();
      this.drop(new Set(inputs.map(({ of }) => this.numberOf(of))));
    });
    this.sending = sent;
    return sent;
  }

  /** A worker that is gone holds nothing. */
  forget(): void {
    this.held.clear();
  }

  private async send(input: Input): Promise<void> {
    const sound = this.numberOf(input.of);
    const isThere = this.held.delete(sound);
    this.held.set(sound, bytesOf(input));
    if (isThere) return;
    for (const channel of input.channels) {
      const samples = channel.slice();
      this.tell({ kind: 'channel', sound, sampleRate: input.sampleRate, samples }, [samples.buffer]);
      await turn();
    }
  }

  private drop(needed: ReadonlySet<number>): void {
    const dropped: number[] = [];
    for (let { bytes } = this; bytes > this.budget;) {
      const oldest = [...this.held.keys()].find((sound) => !needed.has(sound));
      if (oldest === undefined) break;
      bytes -= this.held.get(oldest)!;
      this.held.delete(oldest);
      dropped.push(oldest);
    }
    if (dropped.length > 0) this.tell({ kind: 'drop', sounds: dropped });
  }
}
