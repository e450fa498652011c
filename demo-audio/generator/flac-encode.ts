import { createHash } from 'node:crypto';
import libflac from 'libflacjs';

const library = libflac();
const bits = 16;
/** Where STREAMINFO keeps the MD5 of the samples (RFC 9639, section 8.2): after `fLaC`, a block header and 18 bytes. */
const md5At = 4 + 4 + 18;

const md5Of = (pcm: Int32Array): Uint8Array => {
  const bytes = new DataView(new ArrayBuffer(pcm.length * 2));
  pcm.forEach((value, i) => bytes.setInt16(2 * i, value, true));
  return createHash('md5').update(new Uint8Array(bytes.buffer)).digest();
};

/** Packs interleaved 16-bit `pcm` as a FLAC file at the strongest compression. Throws Error if the encoder gives up. */
export const encodeFlac = (pcm: Int32Array<ArrayBuffer>, channels: number, sampleRate: number): Uint8Array => {
  const frames = pcm.length / channels;
  const encoder = library.create_libflac_encoder(sampleRate, channels, bits, 8, frames, false);
  const chunks: Uint8Array[] = [];
  const started = library.init_encoder_stream(encoder, (chunk) => void chunks.push(chunk.slice()));
  const done =
    encoder !== 0 &&
    started === 0 &&
    library.FLAC__stream_encoder_process_interleaved(encoder, pcm, frames) &&
    library.FLAC__stream_encoder_finish(encoder);
  library.FLAC__stream_encoder_delete(encoder);
  if (!done) throw new Error('the FLAC encoder gave up');
  const file = Buffer.concat(chunks);
  file.set(md5Of(pcm), md5At);
  return file;
};
