import { expose, transfer, wrap, type Endpoint, type Remote } from 'comlink';
import type { RunningState } from '../../dsp/core/running-state.ts';
import type { InputChannels } from '../../dsp/core/strip.ts';
import { isSilent } from '../../audio/silence.ts';
import {
  STRETCH_FRAMES,
  StripHost,
  type RunAnswer,
  type StereoStretch,
  type StripHosting,
  type StripStart,
} from './strip-host.ts';

/** A host as the pool speaks to it, wherever it runs. Rejects when it has failed or is gone. */
export interface StripPort {
  /** Stretches that it is best given at once: what one in another thread runs next should be there when it has done the one before. */
  readonly ahead: number;
  begin(strip: number, start: StripStart): Promise<void>;
  /** Has a stretch run, of which `take` is given the first `frames` frames, where it is not silent; the arrays are used again after that. */
  run(
    strip: number,
    inputs: readonly InputChannels[],
    frames: number,
    take: (left: Float32Array, right: Float32Array) => void,
  ): Promise<void>;
  leave(strip: number): Promise<RunningState>;
  drop(strips: readonly number[]): Promise<void>;
  /** Ends its thread, where it has one. */
  close(): void;
}

/** The event loop gets a turn at least this often, so that progress shows and a cancel is heard, ms. */
const TURN_MS = 50;

/** Arrays that are kept for one thread, 8 MB of them: as many as the inputs of two wide strips. */
const MOST_SPARE = 64;

const stereoStretch = (): StereoStretch => ({
  left: new Float32Array(STRETCH_FRAMES),
  right: new Float32Array(STRETCH_FRAMES),
});

const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

/** A host in this thread. */
export class LocalStripPort implements StripPort {
  readonly ahead = 1;
  private readonly out = stereoStretch();
  private readonly host = new StripHost();
  private last = performance.now();

  begin(strip: number, start: StripStart): Promise<void> {
    return Promise.resolve(this.host.begin(strip, start));
  }

  async run(
    strip: number,
    inputs: readonly InputChannels[],
    frames: number,
    take: (left: Float32Array, right: Float32Array) => void,
  ): Promise<void> {
    if (performance.now() - this.last > TURN_MS) {
      await turn();
      this.last = performance.now();
    }
    const { stretch } = this.host.run(strip, inputs, frames, this.out);
    if (stretch) take(stretch.left.subarray(0, frames), stretch.right.subarray(0, frames));
  }

  leave(strip: number): Promise<RunningState> {
    return Promise.resolve(this.host.leave(strip));
  }

  drop(strips: readonly number[]): Promise<void> {
    return Promise.resolve(this.host.drop(strips));
  }

  close(): void {}
}

/** Arrays of a stretch that go to a thread and come back: fresh memory for each would cost more than the copying. */
class SpareArrays {
  private readonly spare: Float32Array[] = [];

  take(): Float32Array {
    return this.spare.pop() ?? new Float32Array(STRETCH_FRAMES);
  }

  /** A copy of a stretch, whose end is left as it was; longer ones get an array of their own. */
  copyOf(samples: Float32Array): Float32Array {
    if (samples.length > STRETCH_FRAMES) return samples.slice();
    const copy = this.take();
    copy.set(samples);
    return copy;
  }

  giveBack(arrays: readonly Float32Array[]): void {
    for (const array of arrays)
      if (array.length === STRETCH_FRAMES && this.spare.length < MOST_SPARE) this.spare.push(array);
  }
}

/** Channels that are silent need not go over. */
const heardOf = (channels: InputChannels): InputChannels =>
  channels.every((channel) => isSilent(channel)) ? [] : channels;

const buffersOf = (arrays: readonly Float32Array[]): ArrayBuffer[] => arrays.map(({ buffer }) => buffer as ArrayBuffer);

/** A host in a thread of its own; sound moves over as copies. */
export class RemoteStripPort implements StripPort {
  readonly ahead = 2;
  private readonly host: Remote<StripHosting>;
  private readonly arrays = new SpareArrays();
  private fault: Error | null = null;
  private readonly failing = new Set<(error: Error) => void>();

  constructor(
    endpoint: Endpoint,
    private readonly end: () => void,
  ) {
    this.host = wrap<StripHosting>(endpoint);
  }

  begin(strip: number, start: StripStart): Promise<void> {
    return this.answer(this.host.begin(strip, start));
  }

  async run(
    strip: number,
    inputs: readonly InputChannels[],
    frames: number,
    take: (left: Float32Array, right: Float32Array) => void,
  ): Promise<void> {
    const { arrays } = this;
    const sent = inputs.map((channels) => heardOf(channels).map((channel) => arrays.copyOf(channel)));
    const out = { left: arrays.take(), right: arrays.take() };
    const buffers = buffersOf([...sent.flat(), out.left, out.right]);
    const { stretch, spent } = await this.answer(this.host.run(strip, transfer(sent, buffers), frames, out));
    arrays.giveBack(spent);
    if (!stretch) return;
    const { left, right } = stretch;
    take(left.subarray(0, frames), right.subarray(0, frames));
    arrays.giveBack([left, right]);
  }

  leave(strip: number): Promise<RunningState> {
    return this.answer(this.host.leave(strip));
  }

  drop(strips: readonly number[]): Promise<void> {
    return this.answer(this.host.drop([...strips]));
  }

  /** Its thread has failed: all that it was asked, and is asked from now on, is refused. */
  fail(error: Error): void {
    this.fault = error;
    for (const refuse of this.failing) refuse(error);
    this.failing.clear();
  }

  close(): void {
    this.end();
  }

  private answer<T>(asked: Promise<T>): Promise<T> {
    if (this.fault) return Promise.reject(this.fault);
    return new Promise((resolve, reject) => {
      this.failing.add(reject);
      asked.then(resolve, reject).finally(() => this.failing.delete(reject));
    });
  }
}

const moved = (answer: RunAnswer): RunAnswer => {
  const { stretch, spent } = answer;
  return transfer(answer, buffersOf(stretch ? [...spent, stretch.left, stretch.right] : spent));
};

/** Answers at the other end of a remote port. */
export const exposeStripHost = (endpoint: Endpoint): void => {
  const host = new StripHost();
  const hosting: StripHosting = {
    begin: (strip, start) => host.begin(strip, start),
    run: (strip, inputs, frames, out) => moved(host.run(strip, inputs, frames, out)),
    leave: (strip) => host.leave(strip),
    drop: (strips) => host.drop(strips),
  };
  expose(hosting, endpoint);
};
