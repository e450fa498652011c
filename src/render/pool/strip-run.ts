import type { InputChannels } from '../../dsp/core/strip.ts';
import type { NodeRef, PlanStrip } from '../plan.ts';
import type { SoundRoom, Taking } from '../store/room.ts';
import type { Stretch } from './strip-host.ts';
import type { StripPort } from './strip-port.ts';

/** Frames of a stretch: what a strip is run on by at once, and after which another host may go on with it. */
export const STRETCH_FRAMES = 32_768;

/** One strip on its way through the song. */
export class StripRun {
  /** The host that holds it; null: none yet. */
  port: StripPort | null = null;
  isBusy = false;
  /** True once nobody wants it any more. */
  isLetGo = false;
  /** Stretches that are done. */
  done = 0;
  readonly sound: Taking;

  constructor(
    readonly spec: PlanStrip['spec'],
    /** By which hosts know it. */
    readonly number: number,
    private readonly frames: number,
    readonly room: SoundRoom,
  ) {
    this.sound = room.take(frames);
  }

  get isDone(): boolean {
    return this.doneFrames >= this.frames;
  }

  /** Frames that are done; behind the last stretch more than there are. */
  get doneFrames(): number {
    return this.done * STRETCH_FRAMES;
  }

  /** First frame of the next stretch, and its length. */
  get next(): { readonly from: number; readonly frames: number } {
    const from = this.doneFrames;
    return { from, frames: Math.min(STRETCH_FRAMES, this.frames - from) };
  }

  /** Takes the next stretch. Silence is not written, and so takes no room. */
  take(stretch: Stretch): void {
    const { from } = this.next;
    if (stretch) this.sound.put(from, stretch.left, stretch.right);
    this.done++;
  }
}

/** Gives a stretch of what feeds a strip; empty: silence. */
export type Feed = (ref: NodeRef, from: number, frames: number) => InputChannels;
