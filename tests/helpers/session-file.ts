import { parseSession } from '../../src/session/read/parse.ts';
import { ProblemError, type Problem } from '../../src/session/problem.ts';
import type { JsonPath } from '../../src/session/read/reading-order.ts';
import type { Session } from '../../src/session/schema.ts';

/** A small session as a file holds it: two tracks, two groups, a squeezed bus and an echo that feeds a plate. */
export const sessionFile = (): unknown => ({
  format: 'tributary-session',
  version: 4,
  title: 'Small song',
  sampleRate: 48_000,
  tempo: 120,
  sections: [{ name: 'Verse', startSeconds: 0, endSeconds: 8 }],
  tracks: [
    { id: 'kick', name: 'Kick', file: 'tracks/kick.wav', group: 'drums' },
    { id: 'voice', name: 'Voice', file: 'tracks/voice.wav', group: 'voices', pan: 0.25 },
  ],
  groups: [
    { id: 'drums', name: 'Drums', sends: [{ to: 'squeeze' }] },
    { id: 'voices', name: 'Voices', sends: [{ to: 'echo', levelDb: -6 }] },
  ],
  buses: [
    { id: 'squeeze', name: 'Squeeze', blendDb: -8, chain: [{ processor: 'gain', settings: { gain: 3 } }] },
    { id: 'echo', name: 'Echo', blendDb: -12, sends: [{ to: 'plate', levelDb: -3 }] },
    { id: 'plate', name: 'Plate', blendDb: -14 },
  ],
});

type Node = Record<string | number, unknown>;

/** The small session with `value` put at `path`; undefined takes away what stood there. */
export const sessionFileWith = (path: JsonPath, value: unknown): unknown => {
  const file = sessionFile();
  const parent = path.slice(0, -1).reduce<unknown>((node, key) => (node as Node)[key], file) as Node;
  const last = path.at(-1)!;
  if (value === undefined) delete parent[last];
  else parent[last] = value;
  return file;
};

/** The small session, parsed. */
export const smallSession = (): Session => parseSession(JSON.stringify(sessionFile()), 'song.json');

/** The problem that `work` throws. */
export const problemFrom = (work: () => unknown): Problem => {
  try {
    work();
  } catch (error) {
    if (error instanceof ProblemError) return error.problem;
    throw error;
  }
  throw new Error('no problem was found');
};
