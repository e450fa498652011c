import { smoothStep } from '../dsp/core/smooth-step.ts';
import { STRETCH_FRAMES } from './feed-messages.ts';
import type { LoopFrames, PlayedSound, Program } from './played-sound.ts';
import type { StretchShelf } from './stretch-shelf.ts';

/** Where a deck begins; all times are in frames of the audio clock. */
export interface DeckStart {
  readonly clock: number;
  /** Place in the song that the paths are at then, frames; the other sides, and what is heard of the paths, come `late`. */
  readonly place: number;
  readonly loop: LoopFrames | null;
  /** Latency of the mix bus, frames. */
  readonly late: number;
}

/**
 * The song played from one moment on, in a loop or not: where each sound is follows from the audio clock alone, so sounds cannot
 * drift. A deck plays once; a jump, another loop or new sound is a new deck, faded over.
 */
export class Deck {
  private readonly loops: boolean;
  /** Length of a round, and of the crossfade in which it begins again, frames. */
  private readonly round: number;
  private readonly join: number;
  private readonly aside: readonly [Float32Array, Float32Array];

  /** @param joinFrames length of the crossfade at the join of the loop */
  constructor(
    readonly program: Program,
    readonly start: DeckStart,
    joinFrames: number,
    maxFrames: number,
  ) {
    const { loop, place } = start;
    this.loops = loop !== null && place < loop.to;
    this.round = loop ? loop.to - loop.from : 0;
    this.join = Math.min(joinFrames, this.round);
    this.aside = [new Float32Array(maxFrames), new Float32Array(maxFrames)];
  }

  /** Where in the song it is heard at a moment. */
  heardAt(clock: number): number {
    return this.placeAfter(Math.max(0, clock - this.start.clock - this.start.late));
  }

  /** Where in the song the paths are at a moment: what enters the mix bus. */
  pathsAt(clock: number): number {
    return this.placeAfter(Math.max(0, clock - this.start.clock));
  }

  /** True where the paths come to this place again: it lies in the loop. */
  comesTo(place: number): boolean {
    return this.loops && place >= this.start.loop!.from && place < this.start.loop!.to;
  }

  /** The loop that it is in. */
  get loop(): LoopFrames | null {
    return this.loops ? this.start.loop : null;
  }

  private placeAfter(elapsed: number): number {
    const { place, loop } = this.start;
    const reached = place + elapsed;
    if (!this.loops || reached < loop!.to) return reached;
    return loop!.from + ((reached - loop!.from) % this.round);
  }

  /** True once the end of the song has been heard. */
  isOver(clock: number): boolean {
    return !this.loops && this.heardAt(clock) >= this.program.frames;
  }

  /** Stretches that are played within `ahead` frames from the moment `clock` on, the nearest first; told one by one. */
  eachAhead(clock: number, ahead: number, tell: (index: number) => void): void {
    const { start } = this;
    const elapsed = Math.max(0, clock - start.clock - start.late);
    const end = elapsed + start.late + ahead;
    for (let at = elapsed; at < end;) {
      const place = this.placeAfter(at);
      const index = Math.floor(place / STRETCH_FRAMES);
      tell(index);
      const toNext = (index + 1) * STRETCH_FRAMES - place;
      at += this.loops ? Math.min(toNext, Math.max(1, start.loop!.to - place)) : toNext;
    }
    if (!this.loops) return;
    // What the join fades out of lies after the loop's end.
    tell(Math.floor((start.loop!.to + this.join) / STRETCH_FRAMES));
    this.eachOfLoopStart(ahead / 4, tell);
  }

  private eachOfLoopStart(frames: number, tell: (index: number) => void): void {
    const { from, to } = this.start.loop!;
    const last = Math.floor((Math.min(to, from + frames) - 1) / STRETCH_FRAMES);
    for (let index = Math.floor(from / STRETCH_FRAMES); index <= last; index++) tell(index);
  }

  /**
   * Reads `count` frames of a sound as it plays from the moment `clock` on; nothing sounds before the deck starts. Returns false where
   * a stretch was not there in time.
   */
  read(
    shelf: StretchShelf,
    sound: PlayedSound,
    clock: number,
    count: number,
    left: Float32Array,
    right: Float32Array,
  ): boolean {
    let complete = true;
    let elapsed = clock - this.start.clock;
    const waits = Math.min(count, Math.max(0, -elapsed));
    left.fill(0, 0, waits);
    right.fill(0, 0, waits);
    elapsed += waits;
    for (let done = waits; done < count;) {
      const place = this.placeAfter(elapsed);
      const run = this.loops ? Math.min(count - done, this.start.loop!.to - place) : count - done;
      if (!shelf.read(sound, place, run, left, right, done)) complete = false;
      if (!this.joinRound(shelf, sound, elapsed, place, run, left, right, done)) complete = false;
      done += run;
      elapsed += run;
    }
    return complete;
  }

  /** Fades from what lies after the loop's end to its beginning, at the beginning of every round but the first. */
  private joinRound(
    shelf: StretchShelf,
    sound: PlayedSound,
    elapsed: number,
    place: number,
    run: number,
    left: Float32Array,
    right: Float32Array,
    at: number,
  ): boolean {
    const { loop, place: first } = this.start;
    if (!this.loops || first + elapsed < loop!.to) return true;
    const since = place - loop!.from;
    const count = Math.min(run, this.join - since);
    if (count <= 0) return true;
    const [oldLeft, oldRight] = this.aside;
    const complete = shelf.read(sound, loop!.to + since, count, oldLeft, oldRight, 0);
    for (let i = 0; i < count; i++) {
      const share = smoothStep((since + i + 0.5) / this.join);
      left[at + i] = oldLeft[i]! + share * (left[at + i]! - oldLeft[i]!);
      right[at + i] = oldRight[i]! + share * (right[at + i]! - oldRight[i]!);
    }
    return complete;
  }
}
