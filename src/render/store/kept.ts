import { framesOf, stretchOf, type Sound } from '../../audio/audio.ts';
import { STRETCH, type Samples } from '../../audio/samples.ts';
import { finished } from '../../audio/steps.ts';
import type { SoundRoom, Taking } from './room.ts';

/** A copy of a sound of one or two channels, kept in `room`. */
export const keptIn = (room: SoundRoom, sound: Sound): Sound => finished(keptSteps(room, sound));

/** The same step by step; each step yields the part done, 0..1. */
export function* keptSteps(room: SoundRoom, sound: Sound): Generator<number, Sound> {
  const frames = framesOf(sound);
  const kept = room.take(frames);
  for (let from = 0; from < frames; from += STRETCH) {
    const [left, right = left] = stretchOf(sound, from, Math.min(frames, from + STRETCH)).channels;
    kept.put(from, left!, right!);
    yield from / frames;
  }
  return { sampleRate: sound.sampleRate, channels: [kept.left, kept.right].slice(0, sound.channels.length) };
}

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
