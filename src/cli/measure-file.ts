import { secondsOf, type Audio } from '../dsp/audio.ts';
import { MIN_SECONDS } from '../files/decode.ts';
import { readAudioFile } from '../files/node-files.ts';
import { WavStream } from '../files/node-wav-stream.ts';
import type { Measurement } from '../measure/figures.ts';
import { measure, measurementOf } from '../measure/measure.ts';
import { Meter } from '../measure/meter.ts';
import { SpectrumMeter, type Spectrum } from '../measure/spectrum.ts';

/** Figures of one file, as `measure --json` prints them. */
export interface MeasuredFile extends Measurement {
  readonly file: string;
  readonly sampleRate: number;
  readonly channels: number;
  readonly seconds: number;
}

/** What a file in memory is and measures. */
export const measuredAudio = (file: string, audio: Audio): MeasuredFile => ({
  file,
  sampleRate: audio.sampleRate,
  channels: audio.channels.length,
  seconds: secondsOf(audio),
  ...measure(audio),
});

/** Opens a WAV file that need not be in memory; null for any other file, and for one too short to trouble. */
export async function openStream(file: string): Promise<WavStream | null> {
  const stream = await WavStream.open(file);
  if (stream && stream.frames / stream.format.sampleRate >= MIN_SECONDS) return stream;
  await stream?.close();
  return null;
}

/**
 * What a file is and measures. WAV files are read piece by piece, so that their length does not matter; others whole.
 *
 * @param spectrum that of the file, being taken elsewhere; without it, it is taken here
 * @throws ProblemError if the file cannot be read
 */
export async function measureFile(file: string, spectrum?: Promise<Spectrum>): Promise<MeasuredFile> {
  const stream = await openStream(file);
  if (!stream) return measuredAudio(file, await readAudioFile(file));
  try {
    const { sampleRate, channels } = stream.format;
    const meter = new Meter(sampleRate, channels, !spectrum);
    for await (const piece of stream.pieces()) meter.push(piece.channels, 0, piece.count);
    const seconds = meter.frames / sampleRate;
    return { file, sampleRate, channels, seconds, ...measurementOf(meter, await spectrum) };
  } finally {
    await stream.close();
  }
}

/** The long-term spectrum of a WAV file. @throws ProblemError if it cannot be read */
export async function spectrumOfStream(stream: WavStream): Promise<Spectrum> {
  const meter = new SpectrumMeter(stream.format.sampleRate, stream.format.channels);
  for await (const piece of stream.pieces()) meter.push(piece.channels, 0, piece.count);
  return meter.spectrum();
}
