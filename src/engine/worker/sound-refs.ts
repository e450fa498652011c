import { framesOf, type Sound } from '../../audio/audio.ts';
import type { SoundRef } from './protocol.ts';

/** Numbers that stand for sounds. A sound that is told no more can no longer be asked for. */
export class SoundRefs {
  private readonly known = new WeakMap<Sound, SoundRef>();
  private readonly groups = new Map<string, ReadonlyMap<number, Sound>>();
  private last = 0;

  /** The sounds that stand from now on under this name; the same object for the same sound. */
  put(name: string, sounds: readonly Sound[]): void {
    this.groups.set(name, new Map(sounds.map((sound) => [this.of(sound).id, sound])));
  }

  of(sound: Sound): SoundRef {
    const { sampleRate, channels } = sound;
    const ref = this.known.get(sound) ?? {
      ...{ id: ++this.last, sampleRate, frames: framesOf(sound), channels: channels.length },
    };
    this.known.set(sound, ref);
    return ref;
  }

  find(id: number): Sound | null {
    for (const sounds of this.groups.values()) {
      const sound = sounds.get(id);
      if (sound) return sound;
    }
    return null;
  }
}
