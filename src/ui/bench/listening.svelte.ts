import { leftOut, soundingOf } from '../../audition/heard.ts';
import type { MonitorCheck } from '../../audition/monitor-check.ts';
import type { Engine, Heard, Range } from '../../engine/engine.ts';

/** Level of the monitor when the app opens, dB: low, so that nothing is a shock. */
export const FIRST_MONITOR_DB = -24;
/** Attenuation of dim, dB. Common practice. */
export const DIM_DB = 20;

/** The two sides between which one key goes to and fro. */
export type Slot = 'a' | 'b';
export type Slots = Readonly<Record<Slot, Heard>>;

const FIRST_SLOTS: Slots = { a: 'rough', b: 'mix' };

/** What is heard, how, and where in the song. */
export class Listening {
  readonly #engine: Engine;
  #heard = $state.raw<Heard>('mix');
  #slots = $state.raw<Slots>(FIRST_SLOTS);
  /** Chosen to be heard, and not rendered yet. */
  #awaited = $state.raw<Heard | null>(null);
  #matching = $state.raw(true);
  #monitorDb = $state.raw(FIRST_MONITOR_DB);
  #check = $state.raw<MonitorCheck | null>(null);
  #dim = $state.raw(false);
  #loop = $state.raw<Range | null>(null);
  #seconds = $state.raw(0);
  #solo = $state.raw<readonly string[]>([]);
  /** A blind trial is running: the screen does not show which side plays. */
  #blind = $state.raw(false);

  readonly #onSolo: () => void;

  /** @param onSolo called before other paths are soloed: what is measured then is of others */
  constructor(engine: Engine, onSolo: () => void) {
    this.#engine = engine;
    this.#onSolo = onSolo;
  }

  get heard(): Heard {
    return this.#heard;
  }
  get slots(): Slots {
    return this.#slots;
  }
  get awaited(): Heard | null {
    return this.#awaited;
  }
  get matching(): boolean {
    return this.#matching;
  }
  get monitorDb(): number {
    return this.#monitorDb;
  }
  /** What the monitor alone does to what is heard; null: nothing. */
  get check(): MonitorCheck | null {
    return this.#check;
  }
  /** True while the monitor is turned down by DIM_DB. */
  get dim(): boolean {
    return this.#dim;
  }
  get loopRange(): Range | null {
    return this.#loop;
  }
  /** Ids of what is soloed. */
  get solo(): readonly string[] {
    return this.#solo;
  }
  get isBlind(): boolean {
    return this.#blind;
  }
  /** Where playing is, seconds, as of the last `look`. */
  get seconds(): number {
    return this.#seconds;
  }

  /** Reads the playing position from the engine; called in every frame during playback. */
  look(): void {
    this.#seconds = this.#engine.position();
  }

  async toggle(): Promise<void> {
    const { playing, audible } = this.#engine.view;
    // The mix may still be in the making: what is there is played, and shown as what is heard.
    if (!playing && audible[0] !== undefined && !audible.includes(this.#heard)) this.hear(audible[0]);
    if (playing) this.#engine.pause();
    else await this.#engine.play();
    this.look();
  }

  seek(seconds: number): void {
    this.#engine.seek(Math.min(this.#engine.view.seconds, Math.max(0, seconds)));
    this.look();
  }

  loop(range: Range | null): void {
    this.#loop = range;
    this.#engine.loop(range);
    this.look();
  }

  /** Hears a side; one that is to be rendered first, as soon as it is. False: it cannot be heard yet. */
  hear(heard: Heard): boolean {
    if (this.#blind) return true;
    if (this.#engine.view.audible.includes(heard)) {
      this.#awaited = null;
      this.#heard = heard;
      this.#engine.hear(heard);
    } else if (heard.startsWith('pass:')) {
      this.#awaited = heard;
    } else return false;
    this.#compare();
    return true;
  }

  /** The engine has something new: what was waited for may be there. */
  follow(): void {
    const awaited = this.#awaited;
    if (awaited !== null && this.#engine.view.audible.includes(awaited)) this.hear(awaited);
  }

  /** Gives up waiting for a pass that is being rendered. */
  stopWaiting(heard: Heard): void {
    if (this.#awaited === heard) this.#awaited = null;
    for (const slot of ['a', 'b'] as const) if (this.#slots[slot] === heard) this.put(slot, FIRST_SLOTS[slot]);
    this.#compare();
  }

  /** Puts a side into a slot. */
  put(slot: Slot, heard: Heard): void {
    this.#slots = { ...this.#slots, [slot]: heard };
    this.#compare();
  }

  /** The other of the two slots; from outside both, the first. */
  get flipped(): Heard {
    const { a, b } = this.#slots;
    return this.#heard === a ? b : a;
  }

  /** The mix without a path, and with it again. */
  toggleWithout(path: string): void {
    this.hear(leftOut(this.#heard) === path ? 'mix' : `without:${path}`);
  }

  /** Solos a track, group or bus beside what is soloed already, or ends that; the mix is heard. */
  toggleSolo(id: string): void {
    if (this.#blind) return;
    const others = this.#solo.filter((each) => each !== id);
    this.#setSolo(others.length < this.#solo.length ? others : [...others, id]);
    if (this.#solo.length > 0 && soundingOf(this.#heard) !== 'mix') this.hear('mix');
  }

  endSolo(): void {
    if (this.#solo.length > 0) this.#setSolo([]);
  }

  #setSolo(ids: readonly string[]): void {
    this.#solo = ids;
    this.#onSolo();
    this.#engine.solo(ids);
  }

  /** Solos of what is no longer there end. */
  keepSolo(ids: readonly string[]): void {
    if (ids.length < this.#solo.length) this.#setSolo(ids);
  }

  /** Lets go of sides that are no longer there. */
  keepOnly(has: (heard: Heard) => boolean): void {
    const { a, b } = this.#slots;
    if (this.#awaited !== null && !has(this.#awaited)) this.#awaited = null;
    if (!has(a)) this.#slots = { ...this.#slots, a: has('rough') ? 'rough' : 'received' };
    if (!has(b)) this.#slots = { ...this.#slots, b: 'mix' };
    if (!has(this.#heard)) {
      this.#heard = 'mix';
      this.#engine.hear('mix');
    }
    this.#compare();
  }

  match(on: boolean): void {
    this.#matching = on;
    this.#engine.match(on);
  }

  monitor(levelDb: number): void {
    this.#monitorDb = levelDb;
    this.#engine.monitor(levelDb - (this.#dim ? DIM_DB : 0));
  }

  /** Turns the monitor down to talk, and up again. */
  dimTo(on: boolean): void {
    this.#dim = on;
    this.monitor(this.#monitorDb);
  }

  /** Puts the monitor on a check, or takes it off where it is on that one. */
  toggleCheck(check: MonitorCheck): void {
    this.#check = this.#check === check ? null : check;
    this.#engine.check(this.#check);
  }

  /** Starts a blind trial of two sides, always loudness-matched; the screen does not show which of them plays. */
  beginBlind(sides: readonly Heard[]): void {
    this.endSolo();
    this.#blind = true;
    this.#awaited = null;
    this.#engine.match(true);
    this.#engine.compare(sides);
  }

  /** One side of the trial; every switch sounds the same, whatever it leads to. */
  hearBlind(heard: Heard): void {
    this.#engine.hear(heard, true);
  }

  /** The trial has ended: what was heard before it is heard again. */
  endBlind(): void {
    if (!this.#blind) return;
    this.#blind = false;
    this.#engine.hear(this.#heard);
    this.#engine.match(this.#matching);
    this.#compare();
  }

  /** A new song: from its start, without the loop of the last one. */
  restart(): void {
    this.loop(null);
    this.#blind = false;
    this.#solo = [];
    this.#awaited = null;
    this.#heard = 'mix';
    this.#slots = FIRST_SLOTS;
    this.#engine.hear('mix');
    this.#compare();
    this.seek(0);
  }

  /** As it was left: what is in the slots, matching, the loop, and where it stood. What the song no longer has is passed over. */
  resume(slots: Slots, matching: boolean, loop: Range | null, seconds: number): void {
    this.match(matching);
    this.loop(loop);
    this.#slots = slots;
    this.#compare();
    this.#engine.seek(seconds);
    this.look();
  }

  #compare(): void {
    const { a, b } = this.#slots;
    const awaited = this.#awaited === null ? [] : [this.#awaited];
    this.#engine.compare([a, b, ...awaited]);
  }
}
