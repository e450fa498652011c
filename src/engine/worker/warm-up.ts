import type { Sound } from '../../audio/audio.ts';
import { Chain, type ChainStep } from '../../dsp/core/chain.ts';
import { stateOf, type RunningState } from '../../dsp/core/running-state.ts';
import { Strip, type InputChannels, type StripSpec } from '../../dsp/core/strip.ts';

/** Frames per block: the same as in the player, so that states can be passed on and the measured load applies there. */
const BLOCK = 128;
/** Blocks in a step. */
const STEP = 32;

/** A feed of a strip that is warmed up: a rendered sound, or another such strip by its index. */
export type WarmFeed =
  /** `latency`: at the strip's time t the sound is at frame t - latency. */
  { readonly sound: Sound; readonly latency: number } | { readonly strip: number };

interface WarmStrip {
  readonly spec: StripSpec;
  readonly from: readonly WarmFeed[];
}

type Block = readonly [Float32Array, Float32Array];

const newBlock = (): Block => [new Float32Array(BLOCK), new Float32Array(BLOCK)];

/** Fills a block with frames of a sound from `from` on, with silence outside of the sound. */
const fill = ({ channels }: Sound, from: number, block: Block): void => {
  block.forEach((side, n) => {
    const samples = channels[n] ?? channels[0]!;
    const [first, last] = [Math.max(0, from), Math.min(samples.length, from + BLOCK)];
    side.fill(0);
    if (first < last) side.set(samples.subarray(first, last), first - from);
  });
};

/** Runs strips over the song before a position, faster than real time, to reach the state that they would have there. */
export class WarmUp {
  /** Position of the strips in their own time: frames of the song plus all latency before their outputs. */
  at: number;
  /** Seconds of sound that were run. */
  ranSeconds = 0;
  /** Seconds of processor time for that. */
  private used = 0;
  private readonly strips: readonly Strip[];
  private readonly outs: readonly Block[];
  private readonly feeds: readonly (readonly { readonly feed: WarmFeed; readonly block: Block }[])[];

  /** @param from start frame; a multiple of 64, so that control blocks are at the same frames as in a render */
  constructor(
    strips: readonly WarmStrip[],
    private readonly sampleRate: number,
    from: number,
  ) {
    this.at = from;
    this.strips = strips.map(({ spec }) => new Strip(spec, sampleRate, BLOCK));
    for (const strip of this.strips) strip.seek(from);
    this.outs = strips.map(newBlock);
    this.feeds = strips.map(({ from: feeds }) =>
      feeds.map((feed) => ({ feed, block: 'strip' in feed ? this.outs[feed.strip]! : newBlock() })),
    );
  }

  /** Part of one thread's time that these strips need in real time. */
  get load(): number {
    return this.ranSeconds === 0 ? 0 : this.used / this.ranSeconds;
  }

  /** Runs to frame `to`, in steps. */
  *until(to: number): Generator<void, void> {
    while (this.at < to) {
      const began = performance.now();
      const from = this.at;
      for (let n = 0; n < STEP && this.at < to; n++) this.run(Math.min(BLOCK, to - this.at));
      this.used += (performance.now() - began) / 1000;
      this.ranSeconds += (this.at - from) / this.sampleRate;
      yield;
    }
  }

  private run(count: number): void {
    this.strips.forEach((strip, n) => {
      const inputs = this.feeds[n]!.map(({ feed, block }): InputChannels => {
        if ('sound' in feed) fill(feed.sound, this.at - feed.latency, block);
        return block;
      });
      const [left, right] = this.outs[n]!;
      strip.process(inputs, left, right, 0, count);
    });
    this.at += count;
  }

  /** State of each strip, to continue elsewhere. */
  get states(): readonly RunningState[] {
    return this.strips.map(stateOf);
  }
}

/** Seconds of sound with which a chain's load is measured. */
const TRIED_SECONDS = 0.1;

/** Part of one thread's time that a chain needs in real time, measured on a sound from a frame on. */
export function* chainLoad(steps: readonly ChainStep[], sound: Sound, from: number): Generator<void, number> {
  const chain = new Chain(steps, sound.sampleRate, BLOCK);
  const block = newBlock();
  const [left, right] = [new Float64Array(BLOCK), new Float64Array(BLOCK)];
  const frames = Math.round(TRIED_SECONDS * sound.sampleRate);
  let used = 0;
  for (let at = 0; at < frames; at += BLOCK) {
    fill(sound, from + at, block);
    const began = performance.now();
    left.set(block[0]);
    right.set(block[1]);
    chain.process(left, right, BLOCK);
    used += (performance.now() - began) / 1000;
    if (at % (STEP * BLOCK) === 0) yield;
  }
  return used / TRIED_SECONDS;
}
