import { parseSession } from '../../session/parse.ts';
import { ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { sessionText } from '../../session/serialize.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { AudioFileFacts } from '../engine/engine.ts';
import { download } from '../shared/download.ts';
import { messageOf } from '../shared/message.ts';
import { freePath, matchFiles, sortGiven, type GivenFile } from './dropped.ts';
import { filesOf, newSession, place, type Placement } from './placement.ts';

/** How files come in and sessions go out: sessions are opened, audio is read and waits until it has a place. */
export class Intake {
  readonly #bench: Bench;
  /** Files that have been read, by the path that they will have in the session. */
  readonly #blobs = new Map<string, Blob>();
  #waiting = $state.raw<readonly AudioFileFacts[]>([]);
  #doing = $state.raw('');

  constructor(bench: Bench) {
    this.#bench = bench;
  }

  /** Audio that has been read and asks for its place. */
  get waiting(): readonly AudioFileFacts[] {
    return this.#waiting;
  }
  /** What is being fetched or read, in plain words; '' when nothing is. */
  get doing(): string {
    return this.#doing;
  }

  /** Takes whatever was dropped or chosen. A session comes first, and the audio beside it is its own. */
  take(given: readonly GivenFile[]): Promise<boolean> {
    return this.#bench.attempt(async () => {
      const { sessions, audio, other } = sortGiven(given);
      if (sessions.length > 1) throw mismatch(sessions[1]!.path, 'one session at a time', `${sessions.length} of them`);
      if (sessions[0]) return this.#openFile(sessions[0], audio);
      if (audio.length > 0) return this.#readAudio(audio);
      if (other[0]) throw mismatch(other[0].path, 'a WAV, FLAC, MP3 or OGG file, or a session', 'another kind of file');
    });
  }

  /** Opens the session at an address, with its files beside it. */
  openAddress(address: string): Promise<boolean> {
    return this.#bench.attempt(async () => {
      const base = new URL(address, document.baseURI);
      try {
        this.#doing = 'Fetching the song';
        const session = parseSession(await (await fetched(base)).text(), base.pathname.split('/').at(-1)!);
        const files = new Map<string, Blob>();
        for (const path of filesOf(session)) {
          this.#doing = `Fetching ${path}`;
          files.set(path, await (await fetched(new URL(path, base))).blob());
        }
        await this.#open(session, files);
      } finally {
        this.#doing = '';
      }
    });
  }

  /** Gives the waiting files their places; a first song becomes a new session. */
  placeWaiting(placements: readonly Placement[]): Promise<boolean> {
    const count = placements.filter(({ target }) => target.kind !== 'nowhere').length;
    return this.#bench.attempt(async () => {
      if (this.#bench.session) {
        if (!this.#bench.edit(`add ${count} ${count === 1 ? 'file' : 'files'}`, (s) => place(s, placements))) return;
      } else {
        const session = place(newSession(placements.map(({ facts }) => facts)), placements);
        await this.#open(session, this.#blobs, false);
      }
      this.#waiting = [];
    });
  }

  /** The waiting files are not wanted after all. */
  dismissWaiting(): void {
    for (const { path } of this.#waiting) this.#blobs.delete(path);
    this.#waiting = [];
  }

  /** Writes the session as a file that goes beside its audio. */
  save(): void {
    const { session } = this.#bench;
    if (!session) return;
    const name = session.title.replace(/[^\p{L}\p{N} ._-]+/gu, '').trim() || 'session';
    download(new Blob([sessionText(session)], { type: 'application/json' }), `${name}.json`);
    this.#bench.markSaved();
  }

  async #openFile({ path, file }: GivenFile, audio: readonly GivenFile[]): Promise<void> {
    const session = parseSession(await file.text(), path);
    await this.#open(session, matchFiles(filesOf(session), audio));
  }

  async #open(session: Session, files: ReadonlyMap<string, Blob>, saved = true): Promise<void> {
    await this.#bench.engine.open(session, files);
    this.#blobs.clear();
    for (const [path, blob] of files) this.#blobs.set(path, blob);
    this.#bench.take(session, saved);
  }

  // One file at a time: one that cannot be read does not take the others with it.
  async #readAudio(given: readonly GivenFile[]): Promise<void> {
    const missing = matchFiles(this.#bench.view.missing, given);
    const taken = new Set([...this.#blobs.keys(), ...(this.#bench.session ? filesOf(this.#bench.session) : [])]);
    const named = new Set(missing.values());
    const wanted: (readonly [path: string, file: File])[] = [...missing];
    for (const { file } of given) {
      if (named.has(file)) continue;
      const path = freePath(file.name, taken);
      taken.add(path);
      wanted.push([path, file]);
    }
    const facts: AudioFileFacts[] = [];
    const faults: string[] = [];
    try {
      for (const [path, file] of wanted) {
        this.#doing = `Reading ${file.name}`;
        try {
          const read = await this.#bench.engine.addFiles(new Map([[path, file]]));
          this.#blobs.set(path, file);
          if (!missing.has(path)) facts.push(...read);
        } catch (error) {
          faults.push(messageOf(error));
        }
      }
    } finally {
      this.#doing = '';
    }
    if (faults.length > 0) this.#bench.say(faults.join(' '));
    this.#waiting = [...this.#waiting, ...facts];
  }
}

const mismatch = (path: string, expected: string, found: string): ProblemError =>
  new ProblemError({ code: 'mismatch', path, expected, found });

const fetched = async (url: URL): Promise<Response> => {
  const response = await fetch(url);
  if (response.ok) return response;
  throw new ProblemError({
    code: 'missing-file',
    path: decodeURIComponent(url.pathname.split('/').at(-1) ?? ''),
    expected: 'a file at this address',
    found: `the answer ${response.status}`,
  });
};
