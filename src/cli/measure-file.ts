import { framesOf } from '../audio/audio.ts';
import { MIN_SECONDS } from '../files/decode/decode.ts';
import { readAudioFile } from '../files/node/node-files.ts';
import { WavStream, type SoundPiece } from '../files/node/node-wav-stream.ts';
import type { Details } from '../measure/details.ts';
import type { Measurement } from '../measure/figures.ts';
import { fullMeasurementOf, measurementOf } from '../measure/measure.ts';
import { Meter, type MeterOptions } from '../measure/meter.ts';
import { SpectrumMeter, type Spectrum } from '../measure/spectrum.ts';
import type { TimeSeries } from '../measure/time-series.ts';
import { framesOfSpan, type NamedSpan } from './named-span.ts';

/** Figures of one section of a file. */
export interface MeasuredSection extends Measurement, NamedSpan {
  /** The time of the true peak is that in the file. */
  readonly details?: Details;
}

/** Figures of one file, as `measure --json` prints them. */
export interface MeasuredFile extends Measurement {
  readonly file: string;
  readonly sampleRate: number;
  readonly channels: number;
  readonly seconds: number;
  /** Only where requested. */
  readonly details?: Details;
  readonly sections?: readonly MeasuredSection[];
}

/** What is measured of a file beside its figures. */
export interface Wanted {
  /** Measures only these figures, without the spectrum and other slow parts. */
  readonly only?: MeterOptions['only'];
  readonly details: boolean;
  readonly sections: readonly NamedSpan[];
}

/** Sound of a file that can be read more than once, in memory or from disk. */
interface Source {
  readonly sampleRate: number;
  readonly channels: number;
  readonly frames: number;
  readonly pieces: (from: number, to: number) => AsyncIterable<SoundPiece> | Iterable<SoundPiece>;
  readonly close: () => Promise<void>;
}

/** Opens a WAV file to be read piece by piece; null for any other file, and for short ones. */
export async function openStream(file: string): Promise<WavStream | null> {
  const stream = await WavStream.open(file);
  if (stream && stream.frames / stream.format.sampleRate >= MIN_SECONDS) return stream;
  await stream?.close();
  return null;
}

/** Details of a section that begins at `start` seconds, with its times counted from the start of the file. */
const laterBy = (start: number, details: Details): Details => {
  const { truePeakSeconds } = details;
  return { ...details, truePeakSeconds: truePeakSeconds === null ? null : truePeakSeconds + start };
};

async function openSource(file: string): Promise<Source> {
  const stream = await openStream(file);
  if (stream) {
    const { sampleRate, channels } = stream.format;
    const pieces = (from: number, to: number): AsyncIterable<SoundPiece> => stream.pieces(from, to);
    return { sampleRate, channels, frames: stream.frames, pieces, close: () => stream.close() };
  }
  const audio = await readAudioFile(file);
  return {
    sampleRate: audio.sampleRate,
    channels: audio.channels.length,
    frames: framesOf(audio),
    pieces: (from, to) => [{ channels: audio.channels.map((channel) => channel.subarray(from, to)), count: to - from }],
    close: () => Promise.resolve(),
  };
}

/**
 * Format and figures of a file. WAV files are read piece by piece, so that their length does not matter; others whole.
 *
 * @param spectrum the file's spectrum, computed elsewhere; computed here if absent
 * @param onSeries given the time series, where the details are wanted
 * @throws ProblemError if the file cannot be read, or a section begins after its end
 */
export async function measureFile(
  file: string,
  { only, details, sections }: Wanted,
  spectrum?: Promise<Spectrum>,
  onSeries?: (series: TimeSeries) => void,
): Promise<MeasuredFile> {
  const source = await openSource(file);
  const { sampleRate, channels, frames } = source;
  const span = async (from: number, to: number, elsewhere?: Promise<Spectrum>) => {
    const meter = new Meter(sampleRate, channels, { only, spectrum: !elsewhere, details });
    for await (const piece of source.pieces(from, to)) meter.push(piece.channels, 0, piece.count);
    if (!details) return { figures: measurementOf(meter, await elsewhere) };
    return fullMeasurementOf(meter, await elsewhere);
  };
  try {
    const spans = sections.map((section) => ({ section, at: framesOfSpan(section, file, sampleRate, frames) }));
    const { figures, ...full } = await span(0, frames, spectrum);
    const parts: MeasuredSection[] = [];
    for (const { section, at } of spans) {
      const { figures: own, ...more } = await span(...at);
      const { name, startSeconds } = section;
      const endSeconds = Math.min(section.endSeconds, frames / sampleRate);
      const inFile = 'details' in more ? { details: laterBy(at[0] / sampleRate, more.details) } : {};
      parts.push({ name, startSeconds, endSeconds, ...own, ...inFile });
    }
    if ('series' in full) onSeries?.(full.series);
    return {
      ...{ file, sampleRate, channels, seconds: frames / sampleRate, ...figures },
      ...('details' in full ? { details: full.details } : {}),
      ...(parts.length > 0 ? { sections: parts } : {}),
    };
  } finally {
    await source.close();
  }
}

/** The long-term spectrum of a WAV file. @throws ProblemError if it cannot be read */
export async function spectrumOfStream(stream: WavStream): Promise<Spectrum> {
  const meter = new SpectrumMeter(stream.format.sampleRate, stream.format.channels);
  for await (const piece of stream.pieces()) meter.push(piece.channels, 0, piece.count);
  return meter.spectrum();
}
