import { untrack } from 'svelte';
import { KeptRoom, type Listed } from '../../engine/kept/kept-room.ts';
import type { ReadSession } from '../../engine/kept/read-session.ts';
import { claim, takeOver, type Claim } from '../../engine/kept/session-claim.ts';
import type { Steadiness } from '../../engine/kept/steady-writer.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import type { DiskPlace } from '../intake/disk-folder.ts';
import { namedOf } from '../intake/files-in-hand.ts';
import type { Intake } from '../intake/intake.svelte.ts';
import { KeptSession } from './kept-session.ts';
import { showView, viewOf } from './kept-view.ts';
import { noteOpenHere, openHere } from './open-here.ts';

const ELSEWHERE =
  'This session is open in another tab: here it can be heard and looked at. Take it over to change it here.';
const WAYS_OUT = 'Save it to a file, or free space under Sessions.';
const FULL = `The browser’s storage is full: this session is not kept on this device any more. ${WAYS_OUT}`;
const NO_ROOM = `This browser keeps nothing for this page: the session is lost when the page closes. Save it to a file.`;
const NO_SOUND =
  'Received files could not all be kept on this device: when the session is opened again, it asks for them.';

const isFull = (error: unknown): boolean => error instanceof DOMException && error.name === 'QuotaExceededError';

/** What keeps the work on this device as it is done, and opens it again. */
export class Keeping {
  readonly #bench: Bench;
  readonly #intake: Intake;
  readonly #room: Promise<KeptRoom | null>;
  #current: KeptSession | null = null;
  #readOnlyId: string | null = null;
  /** The session on the bench that was last begun or taken up here. */
  #followed: string | null = null;
  #steadiness = $state.raw<Steadiness>('writing');
  #filesLeft = $state.raw(0);
  #sentence = $state.raw('');
  #sessions = $state.raw<readonly Listed[] | null>(null);
  #isElsewhere = $state.raw(false);

  constructor(bench: Bench, intake: Intake, room: Promise<KeptRoom> = KeptRoom.open()) {
    this.#bench = bench;
    this.#intake = intake;
    this.#room = room.catch(() => null);
    intake.isKept = () => this.isSafe;
    void this.#room.then((opened) => {
      if (!opened) this.#steadiness = 'refused';
    });
  }

  /** Kept sessions, the newest first; null while they are read. */
  get sessions(): readonly Listed[] | null {
    return this.#sessions;
  }
  /** Received files that are still to be kept. */
  get filesLeft(): number {
    return this.#filesLeft;
  }
  get steadiness(): Steadiness {
    return this.#steadiness;
  }
  /** True where nothing would be lost if the page went now, but for what the last moment changed. */
  get isSafe(): boolean {
    return this.#isElsewhere || (this.#current !== null && this.#steadiness !== 'refused' && this.#filesLeft === 0);
  }
  /** What there is to say of keeping, as a sentence; '' while all goes well. */
  get sentence(): string {
    return this.#bench.session ? this.#sentence : '';
  }
  /** True while another page has the session. */
  get isElsewhere(): boolean {
    return this.#isElsewhere && this.#bench.readOnly !== null;
  }

  dismiss(): void {
    this.#sentence = '';
  }

  /** Opens what this tab had open last, else any. False: there is none, or it cannot be opened. */
  async openLast(): Promise<boolean> {
    const room = await this.#room;
    if (!room) return false;
    const own = openHere();
    const id = own !== null && (await room.has(own)) ? own : await room.lastOpen();
    return id !== null && (await this.open(id));
  }

  /** Opens a kept session; where another page has it, to be read only. */
  open(id: string): Promise<boolean> {
    return this.#open(id, () => claim(this.#claiming(id)));
  }

  /** Takes the session from the page that has it. */
  takeOver(): Promise<boolean> {
    const id = this.#readOnlyId;
    return id === null ? Promise.resolve(false) : this.#open(id, () => takeOver(this.#claiming(id)));
  }

  async #open(id: string, claimed: () => Promise<Claim | null>): Promise<boolean> {
    const room = await this.#room;
    if (!room || this.#current?.id === id) return this.#current?.id === id;
    let held: Claim | null = null;
    const went = await this.#intake.openKept(async () => {
      held = await claimed();
      const read = await room.read(id);
      const files = await room.filesOf(read.record);
      const place = (read.record.place ?? null) as DiskPlace | null;
      return { session: read.history.present, files, place, take: () => this.#take(room, read, files, held) };
    });
    if (!went) (held as Claim | null)?.release();
    return went;
  }

  #take(
    room: KeptRoom,
    { record, history, steps }: ReadSession,
    files: ReadonlyMap<string, File>,
    held: Claim | null,
  ): void {
    this.#leave();
    this.#followed = record.id;
    this.#bench.resume(history, record.isInFile, record.id);
    showView(this.#bench, record.view);
    if (!held) return this.#beElsewhere(record.id);
    const writer = room.writer(record.id);
    if (steps) writer.know(history, steps);
    this.#current = new KeptSession(room, writer, Promise.resolve(held), this.#listener(record.id), record, files);
    this.#note(record.id);
  }

  /** Keeps what is on the bench as it stands now. To be called whenever that changes: it reads what it hangs on. */
  follow(): void {
    const { history, keptAs, isChanged, listening, view } = this.#bench;
    // What is read here is what this is called again for; where the song stands is looked at then, too.
    const shown = viewOf(this.#bench, 0);
    const { missing } = view;
    const { place } = this.#intake;
    untrack(() => {
      if (keptAs !== this.#followed) this.#begin(keptAs);
      if (!history || !this.#current) return;
      const state = { history, isInFile: !isChanged, place, view: { ...shown, seconds: listening.seconds } };
      this.#current.follow(state, namedOf(history.present, this.#intake.files));
      // What cannot be read stays missing.
      if (missing.length > 0) this.#supply(missing).catch(() => undefined);
    });
  }

  /** Writes at once what waits: the page may go. */
  flush(): void {
    this.follow();
    void this.#current?.flush();
  }

  /** Reads the list anew. */
  async look(): Promise<void> {
    const room = await this.#room;
    await this.#current?.flush();
    // A list that cannot be read is told of by what is kept next.
    this.#sessions = (await room?.list().catch(() => [])) ?? [];
  }

  duplicate(id: string): Promise<void> {
    return this.#change((room) => room.duplicate(id));
  }
  remove(id: string): Promise<void> {
    return this.#change((room) => room.remove([id]));
  }
  freeSpace(id: string): Promise<void> {
    return this.#change((room) => room.freeSpace(id));
  }

  async #change(work: (room: KeptRoom) => Promise<void>): Promise<void> {
    const room = await this.#room;
    if (room) await this.#bench.attempt('files', () => work(room));
    await this.look();
  }

  /** Files that were let go of, and that an undo asks for. */
  async #supply(missing: readonly string[]): Promise<void> {
    const files = await this.#current!.keptFiles(missing);
    if (files.size > 0) await this.#intake.supply(files);
  }

  /** Another session is on the bench: a new one. */
  #begin(id: string | null): void {
    this.#leave();
    this.#followed = id;
    this.#note(id);
    if (id !== null) void this.#room.then((room) => this.#keepNew(room, id));
  }

  #keepNew(room: KeptRoom | null, id: string): void {
    if (this.#bench.keptAs !== id || this.#current?.id === id) return;
    if (!room) {
      this.#steadiness = 'refused';
      this.#sentence = NO_ROOM;
      return;
    }
    this.#current = new KeptSession(room, room.writer(id), claim(this.#claiming(id)), this.#listener(id));
    this.follow();
    // Without it the list is longer, and nothing else.
    const removing = this.#current.flush().then(async () => room.remove(await room.twinsOf(id)));
    removing.catch(() => undefined);
  }

  #note(id: string | null): void {
    noteOpenHere(id);
    void this.#room.then((room) => room?.noteOpen(id)).catch(() => undefined);
  }

  #leave(): void {
    void this.#current?.close();
    this.#current = null;
    this.#readOnlyId = null;
    this.#isElsewhere = false;
    this.#filesLeft = 0;
    this.#sentence = '';
    this.#steadiness = 'writing';
  }

  #beElsewhere(id: string): void {
    this.#current?.stop();
    this.#current = null;
    this.#readOnlyId = id;
    this.#isElsewhere = true;
    this.#bench.readOnly = ELSEWHERE;
  }

  #claiming(id: string) {
    const isMine = (): boolean => this.#current?.id === id;
    return {
      id,
      onAsked: async () => {
        if (isMine()) await this.#current!.flush();
      },
      onLost: () => {
        if (isMine()) this.#beElsewhere(id);
      },
    };
  }

  #listener(id: string) {
    const ifMine = <Told extends unknown[]>(hear: (...told: Told) => void) => {
      return (...told: Told): void => {
        if (this.#current?.id === id) hear(...told);
      };
    };
    return {
      steadiness: ifMine((steadiness: Steadiness, error?: unknown) => {
        this.#steadiness = steadiness;
        if (steadiness === 'kept') this.#sentence = this.#sentence === NO_SOUND ? NO_SOUND : '';
        if (steadiness === 'refused') this.#sentence = isFull(error) ? FULL : NO_ROOM;
      }),
      filesLeft: ifMine((count: number) => (this.#filesLeft = count)),
      refused: ifMine(() => (this.#sentence = NO_SOUND)),
      lost: ifMine(() => this.#beElsewhere(id)),
    };
  }
}
