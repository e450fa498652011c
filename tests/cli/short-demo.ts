import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { readAudioFile } from '../../src/files/node/node-files.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { namedFiles } from '../../src/session/sound-files.ts';
import type { Session } from '../../src/session/schema.ts';
import { sessionText } from '../../src/session/read/serialize.ts';

/** The stretch of the demo song that is taken, s: where its chorus begins and every part plays; long enough for short-term loudness. */
const FROM = 20;
const SECONDS = 3.2;
/** The buses that are kept: one that README names, and some that take little time. */
const BUSES = ['drum-squeeze', 'side-spread', 'air-send'];

const DEMO = 'demo-audio';

/**
 * Writes the demo session with some of its buses and some seconds of its sounds to `folder`/demo-audio, under the same names but
 * as WAV files. Answers where all of them stand.
 */
export const writeShortDemo = async (folder: string, seconds = SECONDS): Promise<readonly string[]> => {
  const session = parseSession(readFileSync(join(DEMO, 'session.json'), 'utf8'), 'session.json');
  const written = [join(folder, DEMO, 'session.json')];
  const asWav = (file: string): string => file.replace(/\.flac$/, '.wav');
  for (const { file } of namedFiles(session)) {
    const { sampleRate, channels } = await readAudioFile(join(DEMO, file));
    const cut = channels.map((channel) => channel.subarray(FROM * sampleRate, (FROM + seconds) * sampleRate));
    const path = join(folder, DEMO, asWav(file));
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, writeWav({ sampleRate, channels: cut }, '32f').bytes);
    written.push(path);
  }
  const short: Session = {
    ...session,
    groups: session.groups.map((group) => ({ ...group, sends: group.sends.filter(({ to }) => BUSES.includes(to)) })),
    buses: session.buses.filter(({ id }) => BUSES.includes(id)),
    tracks: session.tracks.map((track) => ({ ...track, file: asWav(track.file) })),
    sections: [{ name: 'Chorus', startSeconds: 0.5, endSeconds: seconds }],
  };
  writeFileSync(written[0]!, sessionText(short));
  return written;
};
