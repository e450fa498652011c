import type { GainReductionTrace } from '../dsp/core/processor.ts';
import type { Deck } from './deck.ts';
import type { DirectMoves, LiveOrder, LiveReport } from './live-messages.ts';
import { LiveRig } from './live-rig.ts';
import type { PlayedSound } from './played-sound.ts';

/** The paths that run live, if any: at most one rig at a time, and one that waits for its place. */
export class LivePaths {
  rig: LiveRig | null = null;
  private coming: LiveRig | null = null;
  private isTold = false;

  constructor(
    private readonly sampleRate: number,
    private readonly fadeFrames: number,
    private readonly maxFrames: number,
    private readonly report: (report: LiveReport) => void,
  ) {}

  /** What the engine's worker says; where playing is, the mixer answers itself. */
  hear(order: Exclude<LiveOrder, { readonly locate: true }>): void {
    if ('rig' in order) {
      if (this.coming) this.became(this.coming, 'missed');
      this.coming = new LiveRig(order.rig, this.sampleRate, this.fadeFrames, this.maxFrames);
      return;
    }
    const rig = [this.rig, this.coming].find((each) => each?.number === order.number);
    if (!rig) return;
    if ('move' in order) rig.move(order.move, order.edition);
    else if (rig === this.rig) rig.leave(order.leave);
    else this.dropComing('gone');
  }

  /** Moves that come straight from the page. */
  move(moves: DirectMoves): void {
    for (const rig of [this.rig, this.coming]) rig?.moveChains(moves);
  }

  private became(rig: LiveRig, became: 'live' | 'missed' | 'gone'): void {
    this.report({ rig: rig.number, became });
  }

  private dropComing(became: 'missed' | 'gone'): void {
    if (this.coming) this.became(this.coming, became);
    this.coming = null;
  }

  /** Rendered sounds that feed what runs, or is to. */
  get sounds(): readonly PlayedSound[] {
    return [...(this.rig?.sounds ?? []), ...(this.coming?.sounds ?? [])];
  }

  /** How far ahead of the paths these are read, frames. */
  get ahead(): number {
    return Math.max(this.rig?.ahead ?? 0, this.coming?.ahead ?? 0);
  }

  /**
   * Starts what waits for this place, and ends what has given back.
   * @param steady true while one deck plays, and no fade is under way
   * @returns frames until what waits starts; a block must not go beyond that
   */
  turn(deck: Deck | null, clock: number, steady: boolean): number {
    this.giveBack(deck);
    const { coming } = this;
    if (!coming || !deck) return Infinity;
    const until = coming.place - deck.pathsAt(clock);
    if (until > 0) return until;
    if (until < 0 && deck.comesTo(coming.place)) return Infinity;
    if (until < 0 || !steady || this.rig) {
      this.dropComing('missed');
      return Infinity;
    }
    this.rig = coming;
    this.coming = null;
    this.isTold = false;
    return Infinity;
  }

  private giveBack(deck: Deck | null): void {
    const { rig } = this;
    if (!rig) return;
    if (!this.isTold && rig.isFull) {
      this.isTold = true;
      this.became(rig, 'live');
    }
    if (deck && rig.givesBack(deck.program.paths) && rig.share.isClosed) this.end();
  }

  /** Ends all at once: nothing plays any more. */
  end(): void {
    if (this.rig) this.became(this.rig, 'gone');
    this.rig = null;
    this.dropComing('gone');
  }

  /** Adds the traces of what runs. */
  addTraces(chains: Map<string, readonly (GainReductionTrace | null)[]>): void {
    if (this.rig) for (const [id, traces] of this.rig.traces()) chains.set(id, traces);
  }
}
