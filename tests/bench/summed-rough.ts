import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { readAudioFile } from '../../src/files/node/node-files.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';

/** Puts a rough in place of a song's own that is the sum of its stereo tracks, each at a level of its own, 480 samples late. */
export const writeSummedRough = async (folder: string, tracks: number): Promise<void> => {
  const late = 480;
  let sum: Float32Array[] = [];
  let sampleRate = 0;
  for (let n = 0; n < tracks; n++) {
    const audio = await readAudioFile(join(folder, `track-${n + 1}.wav`));
    if (n === 0) sum = audio.channels.map((channel) => new Float32Array(channel.length + late));
    const gain = 0.3 * 10 ** (-(n % 7) / 20);
    audio.channels.forEach((channel, c) => channel.forEach((x, at) => (sum[c]![at + late]! += gain * x)));
    sampleRate = audio.sampleRate;
  }
  writeFileSync(join(folder, 'rough.wav'), writeWav({ sampleRate, channels: sum }, '24').bytes);
};
