import { mkdirSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { songFacts } from './facts.ts';
import { encodeFlac } from './flac-encode.ts';
import { roundedPcm } from './pcm16.ts';
import { makeSong } from './song.ts';

const put = (folder: string, name: string, bytes: Uint8Array): number => {
  const path = join(folder, name);
  mkdirSync(dirname(path), { recursive: true });
  writeFileSync(path, bytes);
  console.log(`${name}  ${(bytes.length / 1e6).toFixed(2)} MB`);
  return bytes.length;
};

/** Synthesises the demo song and writes its tracks and rough mix below `folder`. */
export const writeSong = (folder: string): void => {
  const { sampleRate } = songFacts;
  const { tracks, rough } = makeSong();
  let total = 0;
  for (const { facts, channels } of tracks) {
    total += put(folder, facts.file, encodeFlac(roundedPcm(channels), channels.length, sampleRate));
  }
  const { bytes, limitedSamples } = writeWav({ sampleRate, channels: rough }, '16');
  if (limitedSamples > 0) throw new Error(`${limitedSamples} samples of the rough mix would clip`);
  total += put(folder, songFacts.rough, bytes);
  console.log(`${(total / 1e6).toFixed(2)} MB in all`);
};
