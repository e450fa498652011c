import type { Sketch } from './sketch.ts';

/** One channel of a track as a source of both sides of the rough. */
export interface Source {
  /** Place of its track among the tracks. */
  readonly track: number;
  /** `both`: a track of one channel. */
  readonly side: 'both' | 'left' | 'right';
  readonly channel: Float32Array;
}

/** Channels that share more than this (squared correlation) are not told apart: each then feeds its own side only. */
const MOST_SHARED = 0.98;

const squaredCorrelation = (a: Float32Array, b: Float32Array): number => {
  let [aa, bb, ab] = [0, 0, 0];
  for (let n = 0; n < a.length; n++) {
    const [x, y] = [a[n]!, b[n]!];
    aa += x * x;
    bb += y * y;
    ab += x * y;
  }
  return aa > 0 && bb > 0 ? (ab * ab) / (aa * bb) : 0;
};

/** What may be in each side of the rough. */
export interface Sources {
  readonly all: readonly Source[];
  /** Whether a source may feed the left (0) or the right (1) side of the rough. */
  readonly mayFeed: (source: number, side: 0 | 1) => boolean;
}

export const sourcesOf = (sketches: readonly Sketch[]): Sources => {
  const all: Source[] = [];
  const crosses: boolean[] = [];
  sketches.forEach(({ channels: [left, right] }, track) => {
    if (!right) {
      all.push({ track, side: 'both', channel: left! });
      crosses.push(true);
      return;
    }
    const apart = squaredCorrelation(left!, right) < MOST_SHARED;
    all.push({ track, side: 'left', channel: left! }, { track, side: 'right', channel: right });
    crosses.push(apart, apart);
  });
  const mayFeed = (source: number, side: 0 | 1): boolean =>
    crosses[source]! || all[source]!.side === (side === 0 ? 'left' : 'right');
  return { all, mayFeed };
};
