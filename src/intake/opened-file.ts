import { framesOf, type Audio, type Sound } from '../audio/audio.ts';
import { STRETCH } from '../audio/samples.ts';
import type { OpenSource } from '../files/byte-source.ts';
import { decodeAudioFile } from '../files/decode/decode.ts';
import { fileFactsOf, headOf, type FileFacts } from '../files/decode/file-facts.ts';
import { timeReferenceIn } from '../files/wav/time-reference.ts';
import { wavLayoutOf } from '../files/wav/wav-layout.ts';
import { refuseNonFinite } from '../files/wav/wav-read.ts';
import { wavSound } from '../files/wav/wav-sound.ts';
import { ProblemError } from '../session/problem.ts';

/** A file to be received: it is opened when its turn comes, closed after it, and may be opened more than once. */
export interface Incoming {
  /** Path below the folder, with forward slashes. */
  readonly file: string;
  /** Rejects with a ProblemError where it cannot be opened. */
  readonly open: () => Promise<OpenSource>;
}

/** A file that is open. */
interface OpenFile {
  /** One or two channels: of a WAV file read as they are asked for, of any other one in memory. */
  readonly sound: Sound;
  readonly facts: FileFacts;
  readonly close: () => void;
}

/** Opens the sound of a file, which whoever asks closes. Rejects with a ProblemError where it cannot be read. */
export const opening = async ({ file, open }: Incoming): Promise<OpenFile> => {
  const source = await open();
  try {
    const wav = wavSound(source, file);
    const head = headOf(source);
    const sound = wav?.sound ?? (await decodeAudioFile(head, file));
    if (sound.channels.length > 2) {
      const found = `${sound.channels.length}`;
      throw new ProblemError({ code: 'mismatch', path: file, expected: 'one or two channels', found });
    }
    return { sound, facts: fileFactsOf(head, source)!, close: () => source.close() };
  } catch (error) {
    source.close();
    throw error;
  }
};

/** A sound in memory; it is read once, both channels side by side. @throws ProblemError for samples that are no finite numbers */
const loaded = (sound: Sound, file: string): Audio => {
  const frames = framesOf(sound);
  const channels = sound.channels.map(() => new Float32Array(frames));
  for (let from = 0; from < frames; from += STRETCH) {
    const to = Math.min(frames, from + STRETCH);
    const parts = sound.channels.map((channel) => channel.subarray(from, to));
    refuseNonFinite(parts, to - from, from, file);
    channels.forEach((channel, c) => channel.set(parts[c]!, from));
  }
  return { sampleRate: sound.sampleRate, channels };
};

/** The sound of a file in memory, and what the file says of itself. Rejects with a ProblemError where it cannot be read. */
export const inMemory = async (incoming: Incoming): Promise<{ readonly audio: Audio; readonly facts: FileFacts }> => {
  const { sound, facts, close } = await opening(incoming);
  try {
    return { audio: loaded(sound, incoming.file), facts };
  } finally {
    close();
  }
};

/** Time reference of a file, seconds since midnight; null where it has none. Only WAV files have one. */
export const startOf = async ({ file, open }: Incoming): Promise<number | null> => {
  const source = await open();
  try {
    const samples = timeReferenceIn(source);
    return samples === null ? null : samples / wavLayoutOf(headOf(source), file, source.size).format.sampleRate;
  } finally {
    source.close();
  }
};
