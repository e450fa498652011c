import { StereoDelay } from '../dsp/core/delay-line.ts';
import { chainLatency, chainListensToKey, type ChainStep } from '../dsp/core/chain.ts';
import { fillMovingLevel, type MovingLevel } from '../dsp/core/moving-gains.ts';
import { LiveStrip } from '../dsp/core/live-strip.ts';
import type { GainReductionTrace } from '../dsp/core/processor.ts';
import type { StripSpec } from '../dsp/core/strip.ts';
import { GainRamp } from './gain-ramp.ts';
import type { DirectMoves, LiveFeed, LiveStripStart, RigStart } from './live-messages.ts';
import type { PlayedSound } from './played-sound.ts';

/** Reads `count` frames of a sound as it plays from a moment on. */
type Read = (sound: PlayedSound, clock: number, count: number, left: Float32Array, right: Float32Array) => void;

/** A rendered sound that feeds the rig, as it is read for one block. */
interface FeedBlock {
  readonly sound: PlayedSound;
  readonly ahead: number;
  readonly block: readonly [Float32Array, Float32Array];
}

/** One strip of the rig, and its output. */
class RigStrip {
  readonly strip: LiveStrip;
  readonly out: readonly [Float32Array, Float32Array];
  /** The output as it meets the other paths. */
  readonly left: Float64Array;
  readonly right: Float64Array;
  private readonly delay: StereoDelay;
  private readonly moving: MovingLevel | null;
  private readonly open: Float64Array;
  /** The session's edition that its settings are of. */
  private edition = 0;

  constructor(
    private spec: StripSpec,
    start: LiveStripStart,
    private readonly inputs: readonly (readonly Float32Array[])[],
    private readonly sampleRate: number,
    maxFrames: number,
  ) {
    this.moving = start.moving ?? null;
    this.open = new Float64Array(maxFrames);
    this.strip = new LiveStrip(spec, sampleRate, maxFrames, start.state);
    this.delay = new StereoDelay(start.heldBack);
    this.out = [new Float32Array(maxFrames), new Float32Array(maxFrames)];
    this.left = new Float64Array(maxFrames);
    this.right = new Float64Array(maxFrames);
  }

  /** Goes on with other steps, unless it has those of a later edition. */
  move(steps: readonly ChainStep[], edition: number): void {
    if (edition < this.edition) return;
    this.edition = edition;
    this.spec = { ...this.spec, steps };
    this.strip.moveTo(this.spec);
  }

  /** Whether a chain with these steps fits in its place: it comes as late, and takes the same inputs. */
  fits(steps: readonly ChainStep[]): boolean {
    const { sampleRate, spec } = this;
    if (chainListensToKey(steps) !== chainListensToKey(spec.steps)) return false;
    return chainLatency(steps, sampleRate) === chainLatency(spec.steps, sampleRate);
  }

  /** @param place of the paths in the song; @param ahead how far the strip's own time runs ahead of it */
  process(count: number, place: number, ahead: number): void {
    const { left, right, delay, moving, open } = this;
    const [outLeft, outRight] = this.out;
    this.strip.seek(place + ahead);
    this.strip.process(this.inputs, outLeft, outRight, count);
    for (let i = 0; i < count; i++) {
      left[i] = outLeft[i]!;
      right[i] = outRight[i]!;
    }
    delay.process(left, right, left, right, 0, count);
    if (!moving) return;
    fillMovingLevel(moving, this.sampleRate, place, count, open);
    for (let i = 0; i < count; i++) {
      left[i]! *= open[i]!;
      right[i]! *= open[i]!;
    }
  }
}

/**
 * Strips that run while they are heard, fed by the rendered sound of what comes before them. They start in the state in which
 * rendering would be at that place, so that they take over from the rendered paths, and give back to them, without a sound.
 */
export class LiveRig {
  readonly number: number;
  readonly place: number;
  /** How far the live paths have taken the place of the rendered ones, 0..1. */
  readonly share: GainRamp;
  private readonly strips = new Map<string, RigStrip>();
  private readonly ordered: RigStrip[] = [];
  private readonly feeds: FeedBlock[] = [];
  private readonly timeAhead: number;
  /** Frames until what is held back has come through. */
  private settles: number;
  private leaves: readonly (readonly [path: string, sound: number])[] | null = null;

  constructor(start: RigStart, sampleRate: number, fadeFrames: number, maxFrames: number) {
    this.number = start.number;
    this.place = start.place;
    this.timeAhead = start.ahead;
    this.share = new GainRamp(0, fadeFrames, maxFrames);
    this.settles = Math.max(0, ...start.strips.map(({ heldBack }) => heldBack));
    for (const strip of start.strips) {
      const inputs = strip.from.map((feed) => this.blockOf(feed, maxFrames));
      const running = new RigStrip(strip.spec, strip, inputs, sampleRate, maxFrames);
      this.ordered.push(running);
      this.strips.set(strip.id, running);
    }
  }

  private blockOf(feed: LiveFeed, maxFrames: number): readonly [Float32Array, Float32Array] {
    if ('strip' in feed) return this.ordered[feed.strip]!.out;
    const { sound, ahead } = feed;
    const known = this.feeds.find((each) => each.sound.id === sound.id && each.ahead === ahead);
    if (known) return known.block;
    const block = [new Float32Array(maxFrames), new Float32Array(maxFrames)] as const;
    this.feeds.push({ sound, ahead, block });
    return block;
  }

  /** True while nothing is heard of the rendered paths in its place. */
  get isFull(): boolean {
    return !this.share.moves && this.share.value === 1;
  }

  /** Rendered sounds that feed it. */
  get sounds(): readonly PlayedSound[] {
    return this.feeds.map(({ sound }) => sound);
  }

  /** How far ahead of the paths it reads, frames. */
  get ahead(): number {
    return Math.max(0, ...this.feeds.map(({ ahead }) => ahead));
  }

  /** Traces of the processors of each strip. */
  *traces(): Generator<readonly [string, readonly (GainReductionTrace | null)[]]> {
    for (const [id, { strip }] of this.strips) yield [id, strip.traces];
  }

  move(moves: readonly (readonly [strip: number, steps: readonly ChainStep[]])[], edition: number): void {
    for (const [strip, steps] of moves) this.ordered[strip]?.move(steps, edition);
  }

  /** Moves those of its strips that are named; what does not fit waits for another rig. */
  moveChains({ chains, edition }: DirectMoves): void {
    for (const [id, steps] of chains) {
      const strip = this.strips.get(id);
      if (strip?.fits(steps)) strip.move(steps, edition);
    }
  }

  /** Back to the rendered paths, as soon as these sounds are what plays of them. */
  leave(sounds: readonly (readonly [path: string, sound: number])[]): void {
    this.leaves = sounds;
  }

  /** To be told what plays: true from when on it gives back to the rendered paths. */
  givesBack(paths: readonly (readonly [id: string, sound: PlayedSound])[]): boolean {
    const { leaves } = this;
    if (leaves?.every(([path, sound]) => paths.find(([id]) => id === path)?.[1].id === sound) !== true) return false;
    this.share.set(0);
    return true;
  }

  /** Runs all strips on by `count` frames, from the moment `clock` on, at which the paths are at frame `place` of the song. */
  process(read: Read, clock: number, count: number, place: number): void {
    for (const { sound, ahead, block } of this.feeds) read(sound, clock + ahead, count, block[0], block[1]);
    for (const strip of this.ordered) strip.process(count, place, this.timeAhead);
    if (this.settles <= 0 && this.leaves === null) this.share.set(1);
    this.settles -= count;
    this.share.advance(count);
  }

  /** The last block of a live path; undefined: this path is not live. */
  pathOf(id: string): { readonly left: Float64Array; readonly right: Float64Array } | undefined {
    return this.strips.get(id);
  }
}
