import { framesOf, type Sound } from '../../audio/audio.ts';
import { measure, fullMeasurementOf, type FullMeasurement } from '../../measure/measure.ts';
import type { Measurement } from '../../measure/figures.ts';
import { Meter } from '../../measure/meter.ts';
import { decodeAudioFile } from '../decode/decode.ts';
import { FORM_NAMES, formWriter, type FileFacts, type FileForm } from './file-form.ts';
import type { FileKeeper } from '../bytes/file-keeper.ts';
import { id3Tag, type Mp3Facts } from '../mp3/id3-write.ts';
import { joinedBytes } from '../bytes/joined-bytes.ts';
import { manifestFiguresOf, type ManifestFile } from './manifest.ts';
import { mp3Of, type Mp3Kbps } from '../mp3/mp3-write.ts';
import type { FileKind } from './print-order.ts';
import { digestOf } from '../bytes/sha256.ts';
import { refuseNonFinite } from '../wav/wav-read.ts';
import { deinterleave } from '../wav/wav-samples.ts';
import { wavFormatOf, wavPieces, type WavBits } from '../wav/wav-write.ts';

/** One printed file. */
export interface Print<Content> {
  /** File name with its ending. */
  readonly name: string;
  readonly kind: FileKind;
  /** Name of the delivery target that it was printed for; null: there are none, or it is not of the mix. */
  readonly target: string | null;
  /** "24"; "FLAC 24"; "MP3 192" for a copy. */
  readonly bits: string;
  /** Hz. */
  readonly sampleRate: number;
  readonly content: Content;
  /** Measured from the samples as written. */
  readonly figures: Measurement;
}

/** A file with its entries in report and manifest. */
export interface Written<Content> {
  readonly print: Print<Content>;
  readonly limitedSamples: number;
  /** The file's entry in the manifest. */
  readonly listed: ManifestFile;
}

/** How a file is written. */
export interface FileOrder {
  readonly form: FileForm;
  readonly bits: WavBits;
  readonly seed: number;
  readonly shaped: boolean;
  readonly kind: FileKind;
  readonly target: string | null;
  /** Its name without ending, which may depend on its figures. */
  readonly nameOf: (figures: Measurement) => string;
  readonly ending: string;
  readonly facts: Omit<FileFacts, 'figures'>;
}

/** Frames measured in one pass, few enough for the processor's cache. */
const MEASURED_FRAMES = 8192;

const bitsWords = (form: FileForm, bits: WavBits): string => (form === 'wav' ? bits : `${FORM_NAMES[form]} ${bits}`);

/** Writes a sound into a file piece by piece, and measures it as it is written; its header with metadata is made last and put at the beginning. */
export const written = async <Content>(
  sound: Sound,
  { form, bits, seed, shaped, kind, target, nameOf, ending, facts }: FileOrder,
  keeper: FileKeeper<Content>,
): Promise<Written<Content> & { readonly measured: FullMeasurement }> => {
  const format = wavFormatOf(sound, bits);
  const { sampleRate, channels } = format;
  const length = framesOf(sound);
  const meter = new Meter(sampleRate, channels, { details: true });
  const writer = await formWriter(form, format, length);
  const sink = keeper.hold();
  let limitedSamples = 0;
  for (const piece of wavPieces(sound, bits, { seed, shaped })) {
    limitedSamples += piece.limitedSamples;
    const { frames } = piece;
    const samples = sound.channels.map(() => new Float32Array(frames));
    deinterleave(format, piece.bytes, frames, samples);
    if (format.encoding === 'float') refuseNonFinite(samples, frames, meter.frames, facts.title);
    sink.write(writer.piece(piece.bytes, samples));
    for (let from = 0; from < frames; from += MEASURED_FRAMES)
      meter.push(samples, from, Math.min(MEASURED_FRAMES, frames - from));
  }
  sink.write(writer.end());
  const measured = fullMeasurementOf(meter);
  const { figures } = measured;
  const content = sink.end(writer.head({ ...facts, figures }));
  const name = `${nameOf(figures)}${ending}`;
  const told = { kind, ...(target === null ? {} : { target }), bits: bitsWords(form, bits) };
  const listed = {
    path: name,
    ...(await digestOf(keeper.bytesOf(content))),
    sound: { ...told, sampleRate, channels, frames: length, figures: manifestFiguresOf(figures) },
  };
  const print = { name, kind, target, bits: told.bits, sampleRate, content, figures };
  return { print, limitedSamples, measured, listed };
};

/** An MP3 copy of a printed file, measured after decoding. */
export const copied = async <Content>(
  sound: Sound,
  { name, kind, target }: Pick<Print<Content>, 'name' | 'kind' | 'target'>,
  facts: Mp3Facts,
  kbps: Mp3Kbps,
  keeper: FileKeeper<Content>,
): Promise<Omit<Written<Content>, 'limitedSamples'>> => {
  const bytes = joinedBytes([id3Tag(facts), await mp3Of(sound, kbps)]);
  const decoded = await decodeAudioFile(bytes, name);
  const figures = measure(decoded);
  const content = keeper.hold().end(bytes);
  const bits = `MP3 ${kbps}`;
  const { sampleRate, channels } = decoded;
  const told = { kind, ...(target === null ? {} : { target }), bits, sampleRate };
  return {
    print: { name, kind, target, bits, sampleRate, content, figures },
    listed: {
      path: name,
      ...(await digestOf(keeper.bytesOf(content))),
      sound: { ...told, channels: channels.length, frames: framesOf(decoded), figures: manifestFiguresOf(figures) },
    },
  };
};
