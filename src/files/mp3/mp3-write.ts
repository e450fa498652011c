import { framesOf, onBothSides, type Sound } from '../../audio/audio.ts';
import { resampled } from '../../audio/resample.ts';
import { joinedBytes } from '../bytes/joined-bytes.ts';

/** Sample rates of MPEG-1 layer III (ISO/IEC 11172-3) that files are written at, Hz. */
const RATES = [44_100, 48_000] as const;
/** Frames per call of the encoder. */
const PIECE = 65_536;

export const MP3_KBPS = [128, 192, 256, 320] as const;
export type Mp3Kbps = (typeof MP3_KBPS)[number];

/** The rate that a sound is written at: its own where the format has it, else one of the same family. */
const mp3RateOf = ({ sampleRate }: Pick<Sound, 'sampleRate'>): (typeof RATES)[number] =>
  sampleRate % 11_025 === 0 ? 44_100 : 48_000;

/**
 * A sound as MP3 of a constant bit rate, for listening (lossy). Mono is written as two equal channels.
 * @param pace called between pieces with the part done, 0..1; rejects to stop
 */
export const mp3Of = async (
  sound: Sound,
  kbps: Mp3Kbps,
  pace: (part: number) => Promise<void> = () => Promise.resolve(),
): Promise<Uint8Array<ArrayBuffer>> => {
  // The encoder is large: it is loaded when it is needed.
  const { createMp3Encoder } = await import('wasm-media-encoders');
  const sampleRate = mp3RateOf(sound);
  const { channels } = onBothSides(resampled(sound, sampleRate));
  const frames = framesOf({ sampleRate, channels });
  const encoder = await createMp3Encoder();
  encoder.configure({ channels: 2, sampleRate, bitrate: kbps });
  const pieces: Uint8Array[] = [];
  for (let from = 0; from < frames; from += PIECE) {
    await pace(from / frames);
    const to = Math.min(frames, from + PIECE);
    // The encoder returns a view of its own memory, which the next call overwrites.
    pieces.push(encoder.encode(channels.map((channel) => channel.subarray(from, to))).slice());
  }
  pieces.push(encoder.finalize().slice());
  return joinedBytes(pieces);
};
