import type { Audio } from '../../audio/audio.ts';
import { ProblemError } from '../../session/problem.ts';
import { MAX_CHANNELS, MAX_RATE, MIN_RATE } from '../wav/wav-layout.ts';

/** Interface that the WebAssembly decoders share. */
interface Decoder {
  readonly ready: Promise<void>;
  free(): void;
}

/** Their result. */
interface Decoded {
  readonly channelData: Float32Array[];
  readonly sampleRate: number;
  readonly errors: readonly unknown[];
}

/** The error for a coded file that cannot be decoded completely. */
export const damaged = (name: string, kind: string, found: string): ProblemError =>
  new ProblemError({
    code: 'unreadable',
    path: name,
    expected: `a whole ${kind} file`,
    found: `${found}; copy or export it again`,
  });

/** Runs `work` without the decoders' own messages, which go to the console and say less than our error. */
function quietly<T>(work: () => T): T {
  const { error } = console;
  console.error = () => undefined;
  try {
    return work();
  } finally {
    console.error = error;
  }
}

/** Decodes with `decoder`, which is always freed. Damage, errors and traps of the decoder give the same error. */
export async function decodeWith<D extends Decoder>(
  decoder: D,
  run: (decoder: D) => Decoded | Promise<Decoded>,
  name: string,
  kind: string,
): Promise<Audio> {
  await decoder.ready;
  try {
    const { channelData, sampleRate, errors } = await quietly(() => run(decoder));
    const frames = channelData[0]?.length ?? 0;
    const sound =
      errors.length === 0 &&
      frames > 0 &&
      channelData.length <= MAX_CHANNELS &&
      channelData.every((channel) => channel.length === frames) &&
      sampleRate >= MIN_RATE &&
      sampleRate <= MAX_RATE;
    if (!sound) throw damaged(name, kind, 'damage in it');
    return { sampleRate, channels: channelData };
  } catch (error) {
    if (error instanceof ProblemError) throw error;
    throw damaged(name, kind, 'damage in it');
  } finally {
    decoder.free();
  }
}
