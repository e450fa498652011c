import { Gain, ToneBufferSource, type BaseContext, type ToneAudioBuffer } from 'tone';
import { positionAfter, type Loop } from './position.ts';

/** Fade over which one deck takes over from another, seconds: short, and too long to click. */
export const FADE_SECONDS = 0.02;

/** One sound to play, and where it goes. */
export interface Voice {
  readonly buffer: ToneAudioBuffer;
  readonly into: Gain;
  /** Where in the sound playing ends when there is no loop, seconds. */
  readonly endSeconds: number;
  /** True for what is heard through the mix bus, and so later than it is played. */
  readonly isThroughMixBus: boolean;
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
    private readonly voices: readonly Voice[],
    readonly startedAt: number,
    readonly offset: number,
    readonly loop: Loop | null,
    /** Seconds by which all else starts later, to stand level with what passes the mix bus. */
    readonly lateSeconds: number,
    onEnd: () => void,
  ) {
    this.fades = voices.map(({ into }) => new Gain({ context, gain: 0 }).connect(into));
    this.sources = voices.map(({ buffer, endSeconds, isThroughMixBus }, n) => {
      const looped = loop !== null && offset < loop.endSeconds;
      const source = new ToneBufferSource({
        context,
        url: buffer,
        loop: looped,
        ...(looped ? { loopStart: loop.startSeconds, loopEnd: loop.endSeconds } : {}),
      });
      source.connect(this.fades[n]!);
      source.start(
        startedAt + (isThroughMixBus ? 0 : lateSeconds),
        offset,
        ...(looped ? [] : [Math.max(0, endSeconds - offset)]),
      );
      return source;
    });
    if (this.sources[0]) this.sources[0].onended = onEnd;
    this.fade(0, 1, startedAt, lateSeconds);
  }

  /** Where in the song it is heard at `time`, on the audio clock. */
  positionAt(time: number): number {
    return positionAfter(this.offset, time - this.startedAt - this.lateSeconds, this.loop);
  }

  /** Fades all voices so that it is heard at one moment: `late` seconds after `time`, which the mix bus takes. */
  private fade(from: number, to: number, time: number, late: number): void {
    for (const [n, { gain }] of this.fades.entries()) {
      const at = this.voices[n]!.isThroughMixBus ? time : time + late;
      gain.setValueAtTime(from, at).linearRampToValueAtTime(to, at + FADE_SECONDS);
    }
  }

  /** Releases all nodes of a deck that has not started. */
  drop(): void {
    for (const source of this.sources) {
      source.onended = () => {};
      source.dispose();
    }
    for (const fade of this.fades) fade.dispose();
  }

  /** Fades out from `time` on, heard `late` seconds later, and lets go of everything afterwards. */
  end(time: number, late = this.lateSeconds): void {
    for (const source of this.sources) source.onended = () => {};
    this.fade(1, 0, time, late);
    for (const source of this.sources) source.stop(time + late + FADE_SECONDS);
    // Sources stop on the audio clock; the nodes are taken apart when it has surely passed.
    setTimeout(() => {
      for (const source of this.sources) source.dispose();
      for (const fade of this.fades) fade.dispose();
    }, 1000);
  }
}
