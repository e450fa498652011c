import { framesOf, type Sound } from '../../audio/audio.ts';
import type { SoundRef } from './protocol.ts';

/** Numbers of sounds in messages. A sound that is no longer referenced cannot be requested. */
export class SoundRefs {
  private readonly known = new WeakMap<Sound, SoundRef>();
  private readonly groups = new Map<string, ReadonlyMap<number, Sound>>();
  private last = 0;

  /** References to the sounds that are used from now on under this name; the same object for the same sound. */
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
