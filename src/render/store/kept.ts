import { framesOf, stretchOf, type Sound } from '../../audio/audio.ts';
import { STRETCH, type Samples } from '../../audio/samples.ts';
import { finished } from '../../audio/steps.ts';
import type { SoundRoom, Taking } from './room.ts';

/** A copy of a sound of one or two channels, kept in `room`. */
export const keptIn = (room: SoundRoom, sound: Sound): Sound => finished(keptSteps(room, sound));

/** A copy of a sound of one or two channels, kept in a room, that is made from its beginning on as the sound comes about. */
export class KeptCopy {
  readonly sound: Sound;
  private readonly kept: Taking;
  private frames = 0;

  constructor(
    room: SoundRoom,
    private readonly of: Sound,
  ) {
    this.kept = room.take(framesOf(of));
    this.sound = {
      sampleRate: of.sampleRate,
      channels: [this.kept.left, this.kept.right].slice(0, of.channels.length),
    };
  }

  /** Frames that are there; Infinity: all. */
  get reach(): number {
    return this.frames < framesOf(this.of) ? this.frames : Infinity;
  }

  /** Copies the next stretch, of which frames until `reach` are there. False: it is not whole, or there is none. */
  advance(reach = Infinity): boolean {
    const from = this.frames;
    const to = Math.min(framesOf(this.of), from + STRETCH);
    if (from >= to || to > reach) return false;
    const [left, right = left] = stretchOf(this.of, from, to).channels;
    this.kept.put(from, left!, right!);
    this.frames = to;
    return true;
  }

  /** Copies what is left, a stretch a step; each step yields the part done, 0..1. */
  *rest(): Generator<number, Sound> {
    while (this.advance()) yield this.frames / framesOf(this.of);
    return this.sound;
  }
}

/** The same step by step; each step yields the part done, 0..1. */
export const keptSteps = (room: SoundRoom, sound: Sound): Generator<number, Sound> => new KeptCopy(room, sound).rest();

/** A sound of one or two channels that is worked out as it is read, each stretch once: what was read is kept. */
class KeptAsRead {
  private readonly kept: Taking;
  private readonly isThere: Uint8Array;

  constructor(
    room: SoundRoom,
    private readonly sound: Sound,
  ) {
    this.kept = room.take(framesOf(sound));
    this.isThere = new Uint8Array(Math.ceil(framesOf(sound) / STRETCH));
  }

  read(channel: number, from: number, to: number): Float32Array {
    for (let number = Math.floor(from / STRETCH); number * STRETCH < to; number++) this.bring(number);
    return (channel === 0 ? this.kept.left : this.kept.right).subarray(from, to);
  }

  private bring(number: number): void {
    if (this.isThere[number]) return;
    const from = number * STRETCH;
    const { channels } = stretchOf(this.sound, from, Math.min(framesOf(this.sound), from + STRETCH));
    const [left, right = left] = channels;
    this.kept.put(from, left!, right!);
    this.isThere[number] = 1;
  }
}

/** One channel of such a sound. */
class KeptChannel implements Samples {
  constructor(
    private readonly sound: KeptAsRead,
    private readonly channel: number,
    readonly length: number,
  ) {}

  subarray(from: number, to: number): Float32Array {
    return this.sound.read(this.channel, from, to);
  }
}

/** The sound itself, of one or two channels, where it takes long to work out: what was read of it is kept in `room`, and not worked out again. */
export const keptAsRead = (room: SoundRoom, sound: Sound): Sound => {
  const kept = new KeptAsRead(room, sound);
  return { ...sound, channels: sound.channels.map((_, n) => new KeptChannel(kept, n, framesOf(sound))) };
};
