import type { InputChannels } from '../../dsp/core/strip.ts';
import type { RenderPart } from '../executor.ts';
import type { NodeRef, PlanStrip } from '../plan/plan.ts';
import type { SoundRoom, Taking } from '../store/room.ts';
import { STRETCH_FRAMES } from './strip-host.ts';
import type { StripPort } from './strip-port.ts';

/** One strip on its way through the song. */
export class StripRun {
  /** The host that holds it; null: none yet. */
  port: StripPort | null = null;
  isBusy = false;
  /** True once nobody wants it any more. */
  isLetGo = false;
  /** Stretches that are done, from the start of the song. */
  done: number;
  readonly sound: Taking;
  private readonly first: number;
  private readonly end: number;

  constructor(
    readonly spec: PlanStrip['spec'],
    /** By which hosts know it. */
    readonly number: number,
    frames: number,
    readonly room: SoundRoom,
    /** What is run of it. */
    { from, to }: RenderPart = { from: 0, to: frames },
  ) {
    this.sound = room.take(frames);
    this.first = this.done = Math.floor(from / STRETCH_FRAMES);
    this.end = to;
  }

  get isDone(): boolean {
    return this.doneFrames >= this.end;
  }

  /** How much is done of it, 0..1. */
  get part(): number {
    const last = Math.ceil(this.end / STRETCH_FRAMES);
    return last > this.first ? (this.done - this.first) / (last - this.first) : 1;
  }

  /** Frames that are done; after the last stretch more than there are. */
  get doneFrames(): number {
    return this.done * STRETCH_FRAMES;
  }

  /** First frame of the next stretch, and its length. */
  get next(): { readonly from: number; readonly frames: number } {
    const from = this.doneFrames;
    return { from, frames: Math.min(STRETCH_FRAMES, this.sound.left.length - from) };
  }

  /** Keeps the next stretch. Silence is not written, and so takes no room. */
  keep(left: Float32Array, right: Float32Array): void {
    this.sound.put(this.doneFrames, left, right);
  }

  /** The next stretch is done. */
  advance(): void {
    this.done++;
  }
}

/** Gives a stretch of what feeds a strip; empty: silence. */
export type Feed = (ref: NodeRef, from: number, frames: number) => InputChannels;
