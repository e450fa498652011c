import type { Sound } from '../../audio/audio.ts';
import { Chain, type ChainStep } from '../../dsp/core/chain.ts';
import { stateOf, type RunningState } from '../../dsp/core/running-state.ts';
import { Strip, type InputChannels, type StripSpec } from '../../dsp/core/strip.ts';

/** Frames run at once: as many as the player runs, so that a state fits, and takes the same time. */
const BLOCK = 128;
/** Blocks in a step. */
const STEP = 32;

/** What feeds a strip that is warmed up: a rendered sound, or the strip at this place among those that are warmed up. */
export type WarmFeed =
  /** `latency`: at the strip's time t the sound is at frame t - latency. */
  { readonly sound: Sound; readonly latency: number } | { readonly strip: number };

export interface WarmStrip {
  readonly spec: StripSpec;
  readonly from: readonly WarmFeed[];
}

type Block = readonly [Float32Array, Float32Array];

const newBlock = (): Block => [new Float32Array(BLOCK), new Float32Array(BLOCK)];

/** Fills a block with frames of a sound from `from` on, silent where it does not sound. */
const fill = ({ channels }: Sound, from: number, block: Block): void => {
  block.forEach((side, n) => {
    const samples = channels[n] ?? channels[0]!;
    const [first, last] = [Math.max(0, from), Math.min(samples.length, from + BLOCK)];
    side.fill(0);
    if (first < last) side.set(samples.subarray(first, last), first - from);
  });
};

/** Strips that run over the song before a place, faster than it plays, to be in the state in which they would be there. */
export class WarmUp {
  /** Where the strips are, in their own time: frames of the song and all latency before their outputs. */
  at: number;
  /** Seconds of sound that were run. */
  ranSeconds = 0;
  /** Seconds of processor time that took. */
  private used = 0;
  private readonly strips: readonly Strip[];
  private readonly outs: readonly Block[];
  private readonly feeds: readonly (readonly { readonly feed: WarmFeed; readonly block: Block }[])[];

  /** @param from where they begin; a multiple of 64, so that their control blocks stand where those of a render do */
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

  /** Share of the time of one thread that these strips need to run as they play. */
  get load(): number {
    return this.ranSeconds === 0 ? 0 : this.used / this.ranSeconds;
  }

  /** Runs on to `to`, in steps. */
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

  /** State of each strip, with which it goes on elsewhere. */
  get states(): readonly RunningState[] {
    return this.strips.map(stateOf);
  }
}

/** Seconds of sound that a chain is tried with. */
const TRIED_SECONDS = 0.1;

/** Share of the time of one thread that a chain needs as it plays, of a sound from a frame on. */
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
