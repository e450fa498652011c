import { secondsOf, type Audio } from '../audio/audio.ts';
import { resample } from '../audio/resample.ts';
import { decodeAudioFile } from '../files/decode.ts';
import { ProblemError } from '../session/problem.ts';
import type { AudioFileFacts, AudioFiles } from './engine.ts';

/** A session's mix has two channels, so a track may have no more. */
const MOST_CHANNELS = 2;

/** Decoded files by the path that the session calls them, and each as converted to the session's rate. */
export class SoundLibrary {
  private readonly sounds = new Map<string, Audio>();
  private readonly converted = new WeakMap<Audio, Audio>();

  has(path: string): boolean {
    return this.sounds.has(path);
  }

  /** The sound of a file at `sampleRate`; the same object each time, so that what is made of it can be kept. */
  at(path: string, sampleRate: number): Audio | null {
    const sound = this.sounds.get(path);
    if (!sound || sound.sampleRate === sampleRate) return sound ?? null;
    const known = this.converted.get(sound);
    if (known?.sampleRate === sampleRate) return known;
    const fresh = resample(sound, sampleRate);
    this.converted.set(sound, fresh);
    return fresh;
  }

  /** Puts decoded sounds into hand. */
  take(sounds: ReadonlyMap<string, Audio>): void {
    for (const [path, sound] of sounds) this.sounds.set(path, sound);
  }

  /** Lets go of every file that is not among `paths`. */
  keepOnly(paths: ReadonlySet<string>): void {
    for (const path of this.sounds.keys()) if (!paths.has(path)) this.sounds.delete(path);
  }
}

/** Reads files one by one. Rejects with ProblemError for the first that cannot be read; nothing is kept then. */
export const decodeAll = async (
  files: AudioFiles,
  onProgress: (done: number, path: string) => void,
  signal: AbortSignal,
): Promise<ReadonlyMap<string, Audio>> => {
  const sounds = new Map<string, Audio>();
  for (const [path, blob] of files) {
    signal.throwIfAborted();
    onProgress(sounds.size / files.size, path);
    const sound = await decodeAudioFile(new Uint8Array(await blob.arrayBuffer()), path);
    if (sound.channels.length > MOST_CHANNELS) {
      throw new ProblemError({
        code: 'mismatch',
        path,
        expected: 'a mono or stereo file (split it into such files first)',
        found: `${sound.channels.length} channels`,
      });
    }
    sounds.set(path, sound);
  }
  return sounds;
};

export const factsOfSound = (path: string, sound: Audio): AudioFileFacts => ({
  path,
  seconds: secondsOf(sound),
  sampleRate: sound.sampleRate,
  channels: sound.channels.length,
});
