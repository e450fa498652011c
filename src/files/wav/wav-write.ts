import audioBufferToWav from 'audiobuffer-to-wav';
import { framesOf, stretchOf, type Sound } from '../../audio/audio.ts';
import { Quantiser } from '../print/quantise.ts';
import { joinedBytes } from '../bytes/joined-bytes.ts';
import { paddingOf, sampleBytesOf, wavHead } from './wav-head.ts';
import type { WavFormat } from './wav-layout.ts';

/** Sample formats of written WAV files: integers of 16 or 24 bits, or 32-bit floats. */
export const WAV_BITS = ['16', '24', '32f'] as const;
export type WavBits = (typeof WAV_BITS)[number];

/** Options of `writeWav`. */
interface WriteWavOptions {
  /**
   * Start of the dither's random sequence; 1 unless given. The same audio and seed give the same bytes. Files that will
   * be summed, such as stems, need different seeds: equal dither would add up in phase.
   */
  readonly seed?: number;
  /** Shapes the noise of the dither (`SHAPING`); white unless given. */
  readonly shaped?: boolean;
}

/** A WAV file and the number of samples that exceeded full scale and were clipped (always 0 in float). */
interface WrittenWav {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly limitedSamples: number;
}

/** Spreads the channels evenly over the cycle of the random sequence, so that none repeats another's dither. */
const CHANNEL_SEED_STEP = 2 ** 29;

/** Encodes the frames of a sound one stretch after the other. */
interface Encoder {
  /** Frames from..to-1, which follow those before. */
  next(from: number, to: number): Encoded;
}

interface Encoded {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly limitedSamples: number;
}

function integerEncoder(
  { sampleRate, channels }: Sound,
  bits: 16 | 24,
  { seed = 1, shaped = false }: WriteWavOptions,
): Encoder {
  const width = bits / 8;
  const stride = width * channels.length;
  const quantisers = channels.map(
    (channel, c) => new Quantiser(channel, bits, { sampleRate, shaped, seed: seed + c * CHANNEL_SEED_STEP }),
  );
  return {
    next: (from, to) => {
      const view = new DataView(new ArrayBuffer((to - from) * stride));
      let limitedSamples = 0;
      quantisers.forEach((quantiser, c) => {
        const quantised = quantiser.next(to - from);
        limitedSamples += quantised.limitedSamples;
        const { samples } = quantised;
        for (let i = 0, at = c * width; i < samples.length; i++, at += stride) {
          view.setInt16(at, samples[i]!, true); // the lower 16 bits
          if (bits === 24) view.setInt8(at + 2, samples[i]! >> 16);
        }
      });
      return { bytes: new Uint8Array(view.buffer), limitedSamples };
    },
  };
}

/** Interleaved samples. */
function interleaved(channels: readonly Float32Array[], frames: number): Float32Array {
  const samples = new Float32Array(frames * channels.length);
  channels.forEach((channel, c) => {
    for (let i = 0, at = c; i < frames; i++, at += channels.length) samples[at] = channel[i]!;
  });
  return samples;
}

/** Size of the header that the package writes, bytes: it lacks fields that float files need, so we write our own. */
const PACKAGE_HEADER = 44;

const floatEncoder = (sound: Sound): Encoder => ({
  next: (from, to) => {
    const samples = interleaved(stretchOf(sound, from, to).channels, to - from);
    const { sampleRate } = sound;
    const encoded = audioBufferToWav(
      { sampleRate, numberOfChannels: 1, getChannelData: () => samples },
      { float32: true },
    );
    return { bytes: new Uint8Array(encoded, PACKAGE_HEADER), limitedSamples: 0 };
  },
});

/** A piece of the samples of a WAV file. */
interface WavPiece {
  readonly bytes: Uint8Array<ArrayBuffer>;
  readonly frames: number;
  readonly limitedSamples: number;
}

/** Frames in a piece. */
const PIECE = 32_768;

/** The sample format of a word length, as `deinterleave` reads it. */
export const wavFormatOf = ({ sampleRate, channels }: Sound, bits: WavBits): WavFormat => ({
  ...(bits === '32f' ? { encoding: 'float', bits: 32 } : { encoding: 'integer', bits: bits === '16' ? 16 : 24 }),
  ...{ sampleRate, channels: channels.length },
});

/** The samples of a WAV file, piece after piece. Its header may be known only after they are written: see `wavHead`. */
export function* wavPieces(sound: Sound, bits: WavBits, options: WriteWavOptions = {}): Generator<WavPiece, void> {
  const { channels } = sound;
  if (channels.length < 1 || channels.length > 8) {
    throw new RangeError(`a WAV file takes 1 to 8 channels, not ${channels.length}`);
  }
  const frames = framesOf(sound);
  const encoder = bits === '32f' ? floatEncoder(sound) : integerEncoder(sound, bits === '16' ? 16 : 24, options);
  for (let from = 0; from < frames; from += PIECE) {
    const to = Math.min(frames, from + PIECE);
    yield { ...encoder.next(from, to), frames: to - from };
  }
}

/**
 * Writes `audio` as a WAV file. Integers are dithered as in `quantise`, and clipped to full scale; float keeps every value.
 *
 * @param audio 1 to 8 channels
 * @throws RangeError if there is no channel
 */
export function writeWav(audio: Sound, bits: WavBits, options: WriteWavOptions = {}): WrittenWav {
  const pieces = [...wavPieces(audio, bits, options)];
  const limitedSamples = pieces.reduce((sum, piece) => sum + piece.limitedSamples, 0);
  const [format, frames] = [wavFormatOf(audio, bits), framesOf(audio)];
  const all = [wavHead(format, frames), ...pieces.map(({ bytes }) => bytes), paddingOf(sampleBytesOf(format, frames))];
  return { bytes: joinedBytes(all), limitedSamples };
}
