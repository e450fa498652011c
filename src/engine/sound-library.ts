import { framesOf, secondsOf, stretchOf, type Sound } from '../audio/audio.ts';
import { resampled } from '../audio/resample.ts';
import { STRETCH } from '../audio/samples.ts';
import { BlobBytes, canReadBlobs } from '../files/bytes/blob-bytes.ts';
import { decodeAudioFile } from '../files/decode/decode.ts';
import { refuseNonFinite } from '../files/wav/wav-read.ts';
import { wavSound } from '../files/wav/wav-sound.ts';
import { keepHash } from '../render/plan/sources.ts';
import { keptAsRead, keptSteps } from '../render/store/kept.ts';
import type { SoundRoom } from '../render/store/room.ts';
import { ProblemError } from '../session/problem.ts';
import type { AudioFileFacts, AudioFiles } from './engine.ts';
import { inSlices, turn } from './slices.ts';

/** A session's mix has two channels, so a track may have no more. */
const MOST_CHANNELS = 2;

/** Open sounds: each gets a unique name for cache keys, as reading all of it for a digest would take long. */
let opened = 0;
const named = (sound: Sound): Sound => {
  keepHash(sound, `sound ${++opened}`);
  return sound;
};

/** Open files by their paths in the session, and the same converted to the session's rate. */
export class SoundLibrary {
  private readonly sounds = new Map<string, Sound>();
  private readonly converted = new WeakMap<Sound, Sound>();

  constructor(
    /** Room for sounds that cannot be read from their files piece by piece. */
    private readonly room: SoundRoom,
  ) {}

  has(path: string): boolean {
    return this.sounds.has(path);
  }

  /** The sound of a file at `sampleRate`; always the same object, so that results can be stored by it. */
  at(path: string, sampleRate: number): Sound | null {
    const sound = this.sounds.get(path);
    if (!sound || sound.sampleRate === sampleRate) return sound ?? null;
    const known = this.converted.get(sound);
    if (known?.sampleRate === sampleRate) return known;
    const fresh = named(keptAsRead(this.room, resampled(sound, sampleRate)));
    this.converted.set(sound, fresh);
    return fresh;
  }

  /** Adds opened sounds. */
  take(sounds: ReadonlyMap<string, Sound>): void {
    for (const [path, sound] of sounds) this.sounds.set(path, sound);
  }

  /** Drops every file that is not among `paths`. */
  keepOnly(paths: ReadonlySet<string>): void {
    for (const path of this.sounds.keys()) if (!paths.has(path)) this.sounds.delete(path);
  }

  /**
   * Opens files one by one, without adding them. Of a WAV the header is read, and samples that may not be finite numbers; any other file is
   * decoded once. Rejects with ProblemError for the first that cannot be read.
   */
  async open(
    files: AudioFiles,
    onProgress: (done: number, path: string) => void,
    signal: AbortSignal,
  ): Promise<ReadonlyMap<string, Sound>> {
    const sounds = new Map<string, Sound>();
    for (const [path, blob] of files) {
      // Reading the header of a WAV is too short to be cancelled elsewhere.
      await turn();
      signal.throwIfAborted();
      onProgress(sounds.size / files.size, path);
      sounds.set(path, named(await this.opened(path, blob, signal)));
    }
    return sounds;
  }

  private async opened(path: string, blob: Blob, signal: AbortSignal): Promise<Sound> {
    const wav = canReadBlobs() ? wavSound(new BlobBytes(blob, path), path) : null;
    const sound = wav?.sound ?? (await decodeAudioFile(new Uint8Array(await blob.arrayBuffer()), path));
    const { length } = sound.channels;
    if (length > MOST_CHANNELS) {
      const expected = 'a mono or stereo file (split it into such files first)';
      throw new ProblemError({ code: 'mismatch', path, expected, found: `${length} channels` });
    }
    const isOver = (): boolean => signal.aborted;
    if (!wav) return (await inSlices(keptSteps(this.room, sound), isOver)) ?? sound;
    if (wav.isFloat) await inSlices(finiteSteps(sound, path), isOver);
    return sound;
  }
}

/** Reads a whole sound, one stretch per step. @throws ProblemError where a sample is no finite number */
function* finiteSteps(sound: Sound, name: string): Generator<void, true> {
  const frames = framesOf(sound);
  for (let from = 0; from < frames; from += STRETCH) {
    const to = Math.min(frames, from + STRETCH);
    refuseNonFinite(stretchOf(sound, from, to).channels, to - from, from, name);
    yield;
  }
  return true;
}

export const factsOfSound = (path: string, sound: Sound): AudioFileFacts => ({
  path,
  seconds: secondsOf(sound),
  sampleRate: sound.sampleRate,
  channels: sound.channels.length,
});
