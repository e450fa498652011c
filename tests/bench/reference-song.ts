import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { framesOf, type Audio } from '../../src/audio/audio.ts';
import { readAudioFile } from '../../src/files/node/node-files.ts';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import { presets } from '../../src/session/presets/presets.ts';
import { receivedPlace } from '../../src/session/received-balance.ts';
import type { Session } from '../../src/session/schema.ts';
import { sessionText } from '../../src/session/read/serialize.ts';

/** How large a song is to be. */
export interface SongSize {
  readonly seconds: number;
  /** Stereo tracks. */
  readonly tracks: number;
  readonly groups: number;
  /** Buses, each with the chain of a preset. */
  readonly buses: number;
}

/** Parts of the demo song follow one another from another place for each track, so that no two tracks are alike. */
const stretched = ({ sampleRate, channels }: Audio, seconds: number, turn: number): Audio => {
  const frames = Math.round(seconds * sampleRate);
  const [left, right = left] = channels as [Float32Array, Float32Array?];
  const length = left.length;
  const place = (n: number, offset: number): number => (n + offset) % length;
  const offset = Math.round(turn * 0.61 * length) % length;
  return {
    sampleRate,
    channels: [
      Float32Array.from({ length: frames }, (_, n) => 0.5 * left[place(n, offset)]!),
      Float32Array.from({ length: frames }, (_, n) => 0.5 * right[place(n, offset + 17 * turn)]!),
    ],
  };
};

/**
 * Writes a song of this size into `folder`, made of the demo's tracks (invented sound): 24-bit stereo WAV files, a rough and
 * session.json, whose path is the answer.
 */
export const writeReferenceSong = async (folder: string, size: SongSize): Promise<string> => {
  const demo = parseSession(readFileSync('demo-audio/session.json', 'utf8'), 'demo-audio/session.json');
  mkdirSync(folder, { recursive: true });
  const take = async (file: string, name: string, turn: number): Promise<void> => {
    const sound = stretched(await readAudioFile(join('demo-audio', file)), size.seconds, turn);
    if (framesOf(sound) > 0) writeFileSync(join(folder, name), writeWav(sound, '24').bytes);
  };
  await take(demo.rough!.file, 'rough.wav', 0);
  const tracks: Session['tracks'] = [];
  const receivedBalance: Session['receivedBalance'] = [];
  for (let n = 0; n < size.tracks; n++) {
    const from = demo.tracks[n % demo.tracks.length]!;
    await take(from.file, `track-${n + 1}.wav`, n);
    tracks.push({
      ...from,
      id: `track-${n + 1}`,
      name: `Track ${n + 1}`,
      file: `track-${n + 1}.wav`,
      group: `group-${(n % size.groups) + 1}`,
      offsetSeconds: 0,
    });
    const { gainDb, pan } = receivedPlace(demo, from.id);
    receivedBalance.push({ track: `track-${n + 1}`, gainDb, pan });
  }
  const chains = presets.filter(({ kind, level }) => kind === 'chain' && level.kind === 'levelled');
  const buses = Array.from({ length: size.buses }, (_, n): Session['buses'][number] => ({
    ...demo.buses[0]!,
    ...{ id: `bus-${n + 1}`, name: `Bus ${n + 1}`, blendDb: -14, key: null, sends: [] },
    chain: chains[n % chains.length]!.chain,
  }));
  const groups = Array.from({ length: size.groups }, (_, n): Session['groups'][number] => ({
    ...demo.groups[n % demo.groups.length]!,
    ...{ id: `group-${n + 1}`, name: `Group ${n + 1}`, key: null },
    sends: buses.filter((_bus, b) => b % 3 === n % 3).map(({ id }) => ({ ...demo.groups[0]!.sends[0]!, to: id })),
  }));
  const session: Session = {
    ...demo,
    ...{ title: 'Reference song', tracks, groups, buses, receivedBalance, passes: [], trials: [] },
    rough: { ...demo.rough!, file: 'rough.wav', offsetSeconds: 0 },
    sections: [
      {
        ...demo.sections[0]!,
        name: 'Middle',
        startSeconds: size.seconds / 2,
        endSeconds: size.seconds / 2 + Math.min(20, size.seconds / 2),
      },
    ],
  };
  const path = join(folder, 'session.json');
  writeFileSync(path, sessionText(session));
  return path;
};
