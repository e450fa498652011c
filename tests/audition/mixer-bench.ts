import { STRETCH_FRAMES, type StretchName } from '../../src/audition/feed-messages.ts';
import type { Heard } from '../../src/audition/heard.ts';
import type { LiveReport } from '../../src/audition/live-messages.ts';
import type { PlayedSound, Program } from '../../src/audition/played-sound.ts';
import type { Anchor } from '../../src/audition/song-messages.ts';
import type { Reading } from '../../src/audition/song-meters.ts';
import { SongMixer } from '../../src/audition/song-mixer.ts';

export const RATE = 48_000;
export const QUANTUM = 128;
const sounds: (readonly [left: Float32Array, right: Float32Array])[] = [];
export const soundOf = (left: Float32Array, right = left): PlayedSound => ({
  id: sounds.push([left, right]) - 1,
  frames: left.length,
});
/** Left samples of a sound. */
export const samplesOf = ({ id }: PlayedSound): Float32Array => sounds[id]![0];

const stretchOf = (samples: Float32Array, index: number): Float32Array => {
  const stretch = new Float32Array(STRETCH_FRAMES);
  stretch.set(samples.subarray(index * STRETCH_FRAMES, (index + 1) * STRETCH_FRAMES));
  return stretch;
};

/** A mixer whose feed answers `delay` quanta after it is asked. */
export class Bench {
  readonly anchors: Anchor[] = [];
  /** Places from which on it waited. */
  readonly waits: number[] = [];
  /** Sounds that are still being rendered, and the frames of them that are there. */
  readonly reaches = new Map<PlayedSound, number>();
  readonly readings: Reading[] = [];
  readonly live: LiveReport[] = [];
  ended = 0;
  clock = 0;
  readonly left: number[] = [];
  private readonly due: { at: number; names: readonly StretchName[] }[] = [];
  readonly mixer = new SongMixer(RATE, {
    ask: (names) => this.due.push({ at: this.clock + this.delay * QUANTUM, names }),
    holds: () => {},
    tellLive: (report) => this.live.push(report),
    plays: (anchor) => this.anchors.push(anchor),
    waits: (place) => this.waits.push(place),
    ended: () => this.ended++,
    read: (reading) => this.readings.push(reading),
  });

  constructor(public delay = 1) {}

  gains(paths: Record<string, number>, heard: Heard = 'mix', level = 1, throughSilence = false): this {
    const sides = (['mix', 'rough', 'received', 'pass:one'] as const).map(
      (side) => [side, side === heard ? level : 0] as const,
    );
    this.mixer.set({ paths: new Map(Object.entries(paths)), sides: new Map(sides) }, throughSilence);
    return this;
  }

  run(frames: number): this {
    for (const end = this.clock + frames; this.clock < end; this.clock += QUANTUM) {
      while (this.due[0] && this.due[0].at <= this.clock) this.answer(this.due.shift()!.names);
      const left = new Float32Array(QUANTUM);
      this.mixer.process(this.clock, left, new Float32Array(QUANTUM), QUANTUM);
      this.left.push(...left);
    }
    return this;
  }

  private answer(names: readonly StretchName[]): void {
    this.mixer.take(
      names.map(({ sound, index }) => {
        const [left, right] = sounds[sound]!;
        const [, reach = Infinity] = [...this.reaches].find(([{ id }]) => id === sound) ?? [];
        if (Math.min(left.length, (index + 1) * STRETCH_FRAMES) > reach) return { sound, index, fed: 'later' };
        return { sound, index, fed: { left: stretchOf(left, index), right: stretchOf(right, index) } };
      }),
    );
  }

  /** Frame of the song that is heard at a moment, by the anchors told. */
  placeAt(clock: number): number {
    const { clock: since, place, loop } = this.anchors.findLast((anchor) => anchor.clock <= clock)!;
    const reached = place + clock - since;
    return loop && reached >= loop.to ? loop.from + ((reached - loop.from) % (loop.to - loop.from)) : reached;
  }
}

export const program = (
  paths: Record<string, PlayedSound>,
  sides: Partial<Record<Heard, PlayedSound>> = {},
): Program => ({
  frames: Math.max(...Object.values(paths).map(({ frames }) => frames)),
  paths: Object.entries(paths),
  sides: Object.entries(sides) as [Heard, PlayedSound][],
});

/** Greatest difference of what was heard from what is expected at each moment from..to-1 (by IEEE 754, both rounded once). */
export const off = (bench: Bench, from: number, to: number, expected: (clock: number) => number): number => {
  let most = 0;
  for (let at = from; at < to; at++) most = Math.max(most, Math.abs(bench.left[at]! - Math.fround(expected(at))));
  return most;
};
