import type { Samples } from '../../audio/samples.ts';
import type { SoundRoom, Taking } from './room.ts';

/**
 * A part of a room for what is needed for a while: all of it is given back together. Left to the garbage collector, prints that were
 * only measured would fill the room first, and push what is played out to the disk.
 */
export class Scratch implements SoundRoom {
  private taken: Taking[] = [];

  constructor(private readonly room: SoundRoom) {}

  take(frames: number): Taking<Samples> {
    const taking = this.room.take(frames);
    this.taken.push(taking);
    return taking;
  }

  /** Nobody reads what was taken any more. */
  letGo(): void {
    for (const taking of this.taken) taking.letGo?.();
    this.taken = [];
  }
}
