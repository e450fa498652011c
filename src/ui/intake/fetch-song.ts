import { parseSession } from '../../session/read/parse.ts';
import { ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import type { AudioFiles } from '../../engine/engine.ts';
import { nameOf } from './dropped.ts';
import { allFilesOf, filesOf } from '../../engine/files-of-session.ts';

/** A session with all of its files. */
export interface Song {
  readonly session: Session;
  readonly files: AudioFiles;
}

const fetched = async (url: URL, signal: AbortSignal): Promise<Response> => {
  const response = await fetch(url, { signal });
  if (response.ok) return response;
  const path = decodeURIComponent(nameOf(url.pathname));
  throw new ProblemError({
    code: 'missing-file',
    path,
    expected: 'a file at this address',
    found: `the answer ${response.status}`,
  });
};

interface Fetching {
  /** Told what is being fetched. */
  readonly onStep: (doing: string) => void;
  /** Ends it: the promise is rejected with the signal's reason. */
  readonly signal: AbortSignal;
}

/** Fetches the session at an address, and its files from beside it. */
export const fetchSong = async (address: string, { onStep, signal }: Fetching): Promise<Song> => {
  const base = new URL(address, document.baseURI);
  onStep('Fetching the song');
  const session = parseSession(await (await fetched(base, signal)).text(), nameOf(base.pathname));
  const files = new Map<string, Blob>();
  for (const path of filesOf(session)) {
    onStep(`Fetching ${path}`);
    files.set(path, await (await fetched(new URL(path, base), signal)).blob());
  }
  for (const path of allFilesOf(session)) {
    if (files.has(path)) continue;
    onStep(`Fetching ${path}`);
    const response = await fetch(new URL(path, base), { signal });
    if (response.ok) files.set(path, await response.blob());
  }
  return { session, files };
};
