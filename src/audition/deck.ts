import { Gain, ToneBufferSource, type BaseContext, type ToneAudioBuffer } from 'tone';
import type { Loop } from './position.ts';

/** Fade over which one deck takes over from another, seconds: short, and too long to click. */
export const FADE_SECONDS = 0.02;

/** One sound to play, and where it goes. */
export interface Voice {
  readonly buffer: ToneAudioBuffer;
  readonly into: Gain;
  /** Where in the sound playing ends when there is no loop, seconds. */
  readonly endSeconds: number;
  /** Seconds by which it starts later, to stand level with what passes the mix bus. */
  readonly lateSeconds: number;
}

/**
 * All voices, started at one moment and looped over one stretch: driven by the audio clock alone, they cannot drift.
 * A deck plays once; a jump, another loop or new sound is a new deck, faded over.
 */
export class Deck {
  private readonly sources: readonly ToneBufferSource[];
  private readonly fades: readonly Gain[];

  constructor(
    context: BaseContext,
    voices: readonly Voice[],
    readonly startedAt: number,
    readonly offset: number,
    readonly loop: Loop | null,
    onEnd: () => void,
  ) {
    this.fades = voices.map(({ into }) => new Gain({ context, gain: 0 }).connect(into));
    this.sources = voices.map(({ buffer, lateSeconds, endSeconds }, n) => {
      const looped = loop !== null && offset < loop.endSeconds;
      const source = new ToneBufferSource({
        context,
        url: buffer,
        loop: looped,
        ...(looped ? { loopStart: loop.startSeconds, loopEnd: loop.endSeconds } : {}),
      });
      source.connect(this.fades[n]!);
      source.start(startedAt + lateSeconds, offset, ...(looped ? [] : [Math.max(0, endSeconds - offset)]));
      return source;
    });
    if (this.sources[0]) this.sources[0].onended = onEnd;
    for (const { gain } of this.fades)
      gain.setValueAtTime(0, startedAt).linearRampToValueAtTime(1, startedAt + FADE_SECONDS);
  }

  /** Lets go of everything before it has sounded. */
  drop(): void {
    for (const source of this.sources) {
      source.onended = () => {};
      source.dispose();
    }
    for (const fade of this.fades) fade.dispose();
  }

  /** Fades out from `time` on and lets go of everything afterwards. */
  end(time: number): void {
    for (const source of this.sources) source.onended = () => {};
    for (const { gain } of this.fades) gain.setValueAtTime(1, time).linearRampToValueAtTime(0, time + FADE_SECONDS);
    for (const source of this.sources) source.stop(time + FADE_SECONDS);
    // Sources stop on the audio clock; the nodes are taken apart when it has surely passed.
    setTimeout(() => {
      for (const source of this.sources) source.dispose();
      for (const fade of this.fades) fade.dispose();
    }, 1000);
  }
}
