import { soundProblem } from '../../render/plan/sources.ts';
import { nameList } from '../../session/name-list.ts';
import { ProblemError, sentenceOf, type Problem } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { sessionText } from '../../session/read/serialize.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { AudioFileFacts, AudioFiles } from '../../engine/engine.ts';
import { allFilesOf } from '../../engine/files-of-session.ts';
import { download } from '../shared/download.ts';
import { messageOf } from '../../engine/message.ts';
import { chooseFolder, filesIn, placeOf, saveInFolder, type DiskPlace } from './disk-folder.ts';
import { type GivenFile, isZip, nameOf, sortGiven } from './dropped.ts';
import { fetchSong, type Song } from './fetch-song.ts';
import { findSession, type FoundSession } from './found-session.ts';
import { alone, FilesInHand, namedOf, NO_FILES } from './files-in-hand.ts';
import { coming, newSession, place, type Placement } from './placement.ts';

/** What is asked before work that is not saved would be lost. */
export interface Loss {
  /** Title of the current song. */
  readonly title: string;
  /** The button that goes on. */
  readonly anyway: string;
  readonly decide: (goesOn: boolean) => void;
}

/** How a session is opened. */
interface Opening {
  /** Whether it stands in a file as it is. */
  readonly saved?: boolean;
  /** Puts it on the bench, in place of the usual. */
  readonly take?: () => void;
  /** Where it stands on the disk. */
  readonly place?: DiskPlace | null;
  readonly signal?: AbortSignal;
}

/** How files come in and sessions go out: sessions are opened, audio is read and waits until it has a place. */
export class Intake {
  /** Whether the session in hand is kept as it stands, so that nothing is lost when another takes its place. */
  isKept: () => boolean = () => false;
  readonly #bench: Bench;
  readonly #files = new FilesInHand();
  #waiting = $state.raw<readonly AudioFileFacts[]>([]);
  #aside = $state.raw<readonly string[]>([]);
  #isBesideMissing = $state.raw(false);
  #doing = $state.raw('');
  #loss = $state.raw<Loss | null>(null);
  #place = $state.raw<DiskPlace | null>(null);
  /** The folder that what waits came from. */
  #waitingIn: FileSystemDirectoryHandle | null = null;
  /** Ends the opening that is under way. */
  #opening = new AbortController();
  #lastWork = 0;

  constructor(bench: Bench) {
    this.#bench = bench;
  }

  /** Audio that has been read and asks for its place. */
  get waiting(): readonly AudioFileFacts[] {
    return this.#waiting;
  }
  /** What came with the audio that waits and was left aside: a sentence each, with the reason. */
  get aside(): readonly string[] {
    return this.#aside;
  }
  /** Every file in hand, by the path that the session calls it. */
  get files(): AudioFiles {
    return this.#files.all;
  }

  /** True when the session misses files and what waits is none of them. */
  get isBesideMissing(): boolean {
    return this.#isBesideMissing;
  }
  /** What is being fetched or read, in plain words; '' when nothing is. */
  get doing(): string {
    return this.#doing;
  }

  /** The folder on the disk that the session is saved in; null: it is handed out as a file. */
  get place(): DiskPlace | null {
    return this.#place;
  }

  /** The question that stands before unsaved work would be lost; null when there is none. */
  get loss(): Loss | null {
    return this.#loss;
  }

  /**
   * Takes what is sound of whatever was dropped or chosen, and tells what is left aside and why. A session comes first,
   * and the audio beside it is its own.
   */
  take(given: readonly GivenFile[], folder: FileSystemDirectoryHandle | null = null): Promise<boolean> {
    const signal = this.#supersede();
    return this.#bench.attempt('files', async () => {
      const { sessions, audio, other } = sortGiven(await this.#unpacked(given));
      const { found, aside } = await findSession(sessions, audio);
      const from = given.find(({ path }) => path === found?.path);
      const left = [...aside, ...other.map(({ path }) => sentenceOf(mismatch(path, READABLE, 'another kind of file')))];
      if (found) return this.#openFound(found, audio, left, folder && from ? await placeOf(folder, from) : null);
      if (audio.length > 0) return this.#readAudio(audio, left, signal, folder);
      if (left.length > 0) this.#bench.say(left.join(' '), 'files');
    });
  }

  /** Asks for a folder on the disk: its session is opened and saved in place, or a song is begun from its audio. */
  openFolder(): Promise<boolean> {
    return this.#bench.attempt('files', async () => {
      const folder = await chooseFolder();
      if (!folder) return;
      const given = await filesIn(folder);
      if (given.length === 0) this.#bench.say(`${folder.name} holds no sound file and no session.`, 'files');
      else if (this.#bench.session && sortGiven(given).sessions.length === 0 && !(await this.startAnew())) return;
      else await this.take(given, folder);
    });
  }

  async #unpacked(given: readonly GivenFile[]): Promise<readonly GivenFile[]> {
    let files = given;
    await this.#while(async () => {
      if (!given.some(({ path }) => isZip(path))) return;
      this.#doing = 'Unpacking';
      const { unzipped } = await import('./unzipped.ts');
      files = await unzipped(given);
    });
    return files;
  }

  /** Opens the session at an address, with its files beside it. */
  openAddress(address: string): Promise<boolean> {
    const signal = this.#supersede();
    const onStep = (doing: string): void => {
      if (!signal.aborted) this.#doing = doing;
    };
    return this.#bench.attempt('files', () =>
      this.#while(async () => {
        if (!(await this.#mayLose('Open anyway'))) throw stays();
        const song = await fetchSong(address, { onStep, signal });
        await this.#open(song, { signal });
      }),
    );
  }

  /** Opens what is kept on this device: `load` gives it, and puts it on the bench by `take` once its files are read. */
  openKept(
    load: () => Promise<Song & { readonly take: () => void; readonly place: DiskPlace | null }>,
  ): Promise<boolean> {
    const signal = this.#supersede();
    return this.#bench.attempt('files', () =>
      this.#while(async () => {
        if (!(await this.#mayLose('Open anyway'))) throw stays();
        this.#doing = 'Opening the session';
        const { take, place, ...song } = await load();
        await this.#open(song, { take, place, signal });
      }),
    );
  }

  /** Puts files into hand that the session misses and that are kept on this device. */
  supply(files: AudioFiles): Promise<boolean> {
    return this.#bench.attempt('files', async () => {
      await this.#bench.engine.addFiles(files);
      for (const [path, file] of files) this.#files.add(path, file);
    });
  }

  /** Ends what is being fetched or read; what was in hand stays. */
  cancel(): void {
    this.#supersede();
    this.#doing = '';
    this.#bench.stop();
  }

  /** What is opened next takes the place of what is still being opened. The signal is for what begins now. */
  #supersede(): AbortSignal {
    this.#opening.abort(new DOMException('something else is opened', 'AbortError'));
    this.#opening = new AbortController();
    return this.#opening.signal;
  }

  /** An empty bench, without song and files. False: the work in hand goes on. */
  startAnew(): Promise<boolean> {
    this.#supersede();
    return this.#bench.attempt('files', async () => {
      if (!(await this.#mayLose('Start anew anyway'))) throw stays();
      await this.#bench.engine.open(newSession([]), NO_FILES);
      this.#files.replace(NO_FILES);
      this.#waiting = [];
      this.#place = null;
      this.#bench.clear();
    });
  }

  /** Gives the waiting files their places; a first song becomes a new session, which runs at `sampleRate` (Hz). */
  placeWaiting(placements: readonly Placement[], sampleRate?: number): Promise<boolean> {
    const count = coming(placements).length;
    return this.#bench.attempt('places', async () => {
      if (this.#bench.session) {
        const label = `add ${count} ${count === 1 ? 'file' : 'files'}`;
        if (!this.#bench.edit(label, (session) => place(session, placements))) return;
      } else {
        const session = place(newSession(coming(placements), sampleRate), placements);
        const at = this.#waitingIn && { folder: this.#waitingIn, file: null, modified: 0 };
        await this.#open({ session, files: this.#files.all }, { saved: false, place: at });
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

  /** Writes the session into the folder that it was opened in, else hands it out as a file. */
  save(): void {
    if (this.#place) void this.#saveIn(this.#place);
    else this.saveToFile();
  }

  /** Hands the session out as a file that goes beside its audio. */
  saveToFile(): void {
    const session = this.#bench.applied;
    if (!session) return;
    download(new Blob([sessionText(session)], { type: 'application/json' }), `${fileStem(session)}.json`);
    this.#bench.markSaved();
  }

  #saveIn(place: DiskPlace): Promise<boolean> {
    return this.#bench.attempt('files', async () => {
      const session = this.#bench.applied;
      if (!session) return;
      const files = namedOf(session, this.#files.all);
      const saved = await saveInFolder(place, fileStem(session), sessionText(session), files);
      if (this.#place === place) this.#place = saved;
      if (this.#bench.applied === session) this.#bench.markSaved();
      this.#bench.tell(`Saved as ${saved.file} in the folder ${saved.folder.name}.`, 'files');
    });
  }

  async #openFound(
    song: FoundSession,
    audio: readonly GivenFile[],
    left: readonly string[],
    place: DiskPlace | null,
  ): Promise<void> {
    if (!(await this.#mayLose('Open anyway'))) return;
    await this.#open(song, { place });
    const used = [...song.files.values()];
    const strangers = audio.filter(({ file }) => !used.includes(file)).map(({ path }) => nameOf(path));
    const more = strangers.length > 0 ? [`The session does not name ${nameList(strangers)}.`] : [];
    if (left.length + more.length > 0) this.#bench.tell(`Not used: ${[...left, ...more].join(' ')}`, 'files');
  }

  async #open({ session, files }: Song, { saved = true, take, place = null, signal }: Opening = {}): Promise<void> {
    signal?.throwIfAborted();
    await this.#bench.engine.open(session, files);
    signal?.throwIfAborted();
    this.#files.replace(files);
    this.#waiting = [];
    this.#place = place;
    if (take) take();
    else this.#bench.take(session, saved);
  }

  /** True at once when nothing would be lost, else as the user decides. */
  #mayLose(anyway: string): Promise<boolean> {
    const { session, isChanged } = this.#bench;
    if (!session || !isChanged || this.isKept()) return Promise.resolve(true);
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
  #readAudio(
    given: readonly GivenFile[],
    left: readonly string[],
    signal: AbortSignal,
    folder: FileSystemDirectoryHandle | null,
  ): Promise<void> {
    const { session, view, engine } = this.#bench;
    const named = session ? allFilesOf(session) : [];
    const others = named.filter((path) => !this.#files.all.has(path) && !view.missing.includes(path));
    const wanted = this.#files.wanted(given, [...view.missing, ...others], named, folder !== null);
    const facts: AudioFileFacts[] = [];
    const aside = [...left];
    return this.#while(async () => {
      for (const { path, file, isMissing } of wanted) {
        this.#doing = `Reading ${file.name}`;
        try {
          const others = isMissing ? [] : [...named, ...[...this.#waiting, ...facts].map((read) => read.path)];
          const twin = await this.#files.twinOf(file, others);
          if (twin !== null) {
            aside.push(`${file.name} has the same content as ${nameOf(twin)}.`);
            continue;
          }
          const read = await engine.addFiles(alone(path, file));
          this.#files.add(path, file);
          if (!isMissing) facts.push(...read);
        } catch (error) {
          if (!signal.aborted) aside.push(messageOf(error));
        }
        if (signal.aborted) for (const { path } of facts) this.#files.drop(path);
        signal.throwIfAborted();
      }
      this.#waitingIn = folder;
      this.#isBesideMissing = view.missing.length > 0 && !wanted.some(({ isMissing }) => isMissing);
      this.#wait(facts, aside);
    });
  }

  /** What is left aside is told where the files are placed, or in the notice when there are none. */
  #wait(facts: readonly AudioFileFacts[], aside: readonly string[]): void {
    if (facts.length > 0) {
      this.#aside = this.#waiting.length > 0 ? [...this.#aside, ...aside] : aside;
      this.#waiting = [...this.#waiting, ...facts];
    } else if (aside.length > 0) this.#bench.say(aside.join(' '), 'files');
  }

  async #while(work: () => Promise<void>): Promise<void> {
    const own = ++this.#lastWork;
    try {
      await work();
    } finally {
      if (own === this.#lastWork) this.#doing = '';
    }
  }
}

/** A name for the session's file, without its ending. */
const fileStem = ({ title }: Session): string => title.replace(/[^\p{L}\p{N} ._-]+/gu, '').trim() || 'session';

/** Nothing takes the place of the work in hand, as the user has decided. */
const stays = (): DOMException => new DOMException('the work in hand goes on', 'AbortError');

const READABLE = 'a WAV, AIFF, CAF, FLAC, MP3 or OGG file, a zip of such files, or a session';

const mismatch = (path: string, expected: string, found: string): Problem => ({
  code: 'mismatch',
  path,
  expected,
  found,
});
