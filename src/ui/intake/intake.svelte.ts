import { soundProblem } from '../../render/sources.ts';
import { parseSession } from '../../session/parse.ts';
import { ProblemError } from '../../session/problem.ts';
import { sessionText } from '../../session/serialize.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { AudioFileFacts } from '../engine/engine.ts';
import { download } from '../shared/download.ts';
import { messageOf } from '../shared/message.ts';
import { matchFiles, sortGiven, type GivenFile } from './dropped.ts';
import { fetchSong, type Song } from './fetch-song.ts';
import { alone, FilesInHand, NO_FILES } from './files-in-hand.ts';
import { allFilesOf, coming, newSession, place, type Placement } from './placement.ts';

/** What is asked before work that is not saved would be lost. */
export interface Loss {
  /** Title of the song in hand. */
  readonly title: string;
  /** The button that goes on. */
  readonly anyway: string;
  readonly decide: (goesOn: boolean) => void;
}

/** How files come in and sessions go out: sessions are opened, audio is read and waits until it has a place. */
export class Intake {
  readonly #bench: Bench;
  readonly #files = new FilesInHand();
  #waiting = $state.raw<readonly AudioFileFacts[]>([]);
  #isBesideMissing = $state.raw(false);
  #doing = $state.raw('');
  #loss = $state.raw<Loss | null>(null);

  constructor(bench: Bench) {
    this.#bench = bench;
  }

  /** Audio that has been read and asks for its place. */
  get waiting(): readonly AudioFileFacts[] {
    return this.#waiting;
  }
  /** True when the session misses files and what waits is none of them. */
  get isBesideMissing(): boolean {
    return this.#isBesideMissing;
  }
  /** What is being fetched or read, in plain words; '' when nothing is. */
  get doing(): string {
    return this.#doing;
  }

  /** The question that stands before unsaved work would be lost; null when there is none. */
  get loss(): Loss | null {
    return this.#loss;
  }

  /** Takes whatever was dropped or chosen. A session comes first, and the audio beside it is its own. */
  take(given: readonly GivenFile[]): Promise<boolean> {
    return this.#bench.attempt('files', async () => {
      const { sessions, audio, other } = sortGiven(given);
      if (sessions.length > 1) throw mismatch(sessions[1]!.path, 'one session at a time', `${sessions.length} of them`);
      if (sessions[0]) return this.#openFile(sessions[0], audio);
      if (audio.length > 0) return this.#readAudio(audio);
      if (other[0]) throw mismatch(other[0].path, 'a WAV, FLAC, MP3 or OGG file, or a session', 'another kind of file');
    });
  }

  /** Opens the session at an address, with its files beside it. */
  openAddress(address: string): Promise<boolean> {
    return this.#bench.attempt('files', () =>
      this.#while(async () => this.#open(await fetchSong(address, (doing) => (this.#doing = doing)))),
    );
  }

  /** An empty bench, without song and files. */
  startAnew(): Promise<boolean> {
    return this.#bench.attempt('files', async () => {
      if (!(await this.#mayLose('Start anew anyway'))) return;
      await this.#bench.engine.open(newSession([]), NO_FILES);
      this.#files.replace(NO_FILES);
      this.#waiting = [];
      this.#bench.clear();
    });
  }

  /** Gives the waiting files their places; a first song becomes a new session. */
  placeWaiting(placements: readonly Placement[]): Promise<boolean> {
    const count = coming(placements).length;
    return this.#bench.attempt('places', async () => {
      if (this.#bench.session) {
        const label = `add ${count} ${count === 1 ? 'file' : 'files'}`;
        if (!this.#bench.edit(label, (session) => place(session, placements))) return;
      } else {
        const session = place(newSession(coming(placements)), placements);
        await this.#open({ session, files: this.#files.all }, false);
      }
      this.#waiting = [];
    });
  }

  /** Reads a sound that a processor is to work with. Its path in the session; null: it was refused, and the notice says why. */
  async addSound(file: File): Promise<string | null> {
    const { session, view, engine } = this.#bench;
    const [wanted] = this.#files.wanted([{ path: file.name, file }], view.missing, session ? allFilesOf(session) : []);
    if (!wanted) return null;
    const { path } = wanted;
    const read = async (): Promise<void> => {
      this.#doing = `Reading ${file.name}`;
      const [facts] = await engine.addFiles(alone(path, file));
      const problem = facts && soundProblem(path, facts.seconds);
      if (problem) throw new ProblemError(problem);
      this.#files.add(path, file);
    };
    return (await this.#bench.attempt('files', () => this.#while(read))) ? path : null;
  }

  /** The waiting files are not wanted after all. */
  dismissWaiting(): void {
    for (const { path } of this.#waiting) this.#files.drop(path);
    this.#waiting = [];
  }

  /** Writes the session as a file that goes beside its audio. */
  save(): void {
    const session = this.#bench.taken;
    if (!session) return;
    const name = session.title.replace(/[^\p{L}\p{N} ._-]+/gu, '').trim() || 'session';
    download(new Blob([sessionText(session)], { type: 'application/json' }), `${name}.json`);
    this.#bench.markSaved();
  }

  async #openFile({ path, file }: GivenFile, audio: readonly GivenFile[]): Promise<void> {
    const session = parseSession(await file.text(), path);
    if (!(await this.#mayLose('Open anyway'))) return;
    await this.#open({ session, files: matchFiles(allFilesOf(session), audio) });
  }

  async #open({ session, files }: Song, saved = true): Promise<void> {
    await this.#bench.engine.open(session, files);
    this.#files.replace(files);
    this.#waiting = [];
    this.#bench.take(session, saved);
  }

  /** True at once when nothing would be lost, else as the user decides. */
  #mayLose(anyway: string): Promise<boolean> {
    const { session, isChanged } = this.#bench;
    if (!session || !isChanged) return Promise.resolve(true);
    this.#loss?.decide(false);
    return new Promise((resolve) => {
      const decide = (goesOn: boolean): void => {
        this.#loss = null;
        resolve(goesOn);
      };
      this.#loss = { title: session.title, anyway, decide };
    });
  }

  // One file at a time: one that cannot be read does not take the others with it.
  #readAudio(given: readonly GivenFile[]): Promise<void> {
    const { session, view, engine } = this.#bench;
    const named = session ? allFilesOf(session) : [];
    const others = named.filter((path) => !this.#files.all.has(path) && !view.missing.includes(path));
    const wanted = this.#files.wanted(given, [...view.missing, ...others], named);
    const facts: AudioFileFacts[] = [];
    const faults: string[] = [];
    return this.#while(async () => {
      for (const { path, file, isMissing } of wanted) {
        this.#doing = `Reading ${file.name}`;
        try {
          const read = await engine.addFiles(alone(path, file));
          this.#files.add(path, file);
          if (!isMissing) facts.push(...read);
        } catch (error) {
          faults.push(messageOf(error));
        }
      }
      if (faults.length > 0) this.#bench.say(faults.join(' '), 'files');
      this.#isBesideMissing = view.missing.length > 0 && !wanted.some(({ isMissing }) => isMissing);
      this.#waiting = [...this.#waiting, ...facts];
    });
  }

  async #while(work: () => Promise<void>): Promise<void> {
    try {
      await work();
    } finally {
      this.#doing = '';
    }
  }
}

const mismatch = (path: string, expected: string, found: string): ProblemError =>
  new ProblemError({ code: 'mismatch', path, expected, found });
