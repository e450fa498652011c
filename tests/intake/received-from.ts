import type { Audio } from '../../src/audio/audio.ts';
import { bytesInMemory } from '../../src/files/byte-source.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import type { Incoming } from '../../src/intake/opened-file.ts';
import { receive } from '../../src/intake/receive.ts';
import type { Received } from '../../src/intake/received.ts';

/** A 24 bit WAV file in memory. */
export const incoming = (file: string, audio: Audio): Incoming => {
  const { bytes } = writeWav(audio, '24');
  return { file, open: () => Promise.resolve(bytesInMemory(bytes)) };
};

/** What intake tells of files in memory. */
export const receivedFrom = async (tracks: readonly Incoming[], rough: Incoming | null = null): Promise<Received> => {
  const steps = receive(tracks, rough);
  for (;;) {
    const next = await steps.next();
    if (next.done) return next.value;
  }
};

/** The codes told of each file that is not clean. */
export const codesOf = ({ tracks }: Received): Record<string, string[]> =>
  Object.fromEntries(
    tracks
      .filter(({ warnings }) => warnings.length > 0)
      .map(({ file, warnings }) => [file, warnings.map(({ code }) => code)]),
  );
