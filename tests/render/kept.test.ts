import { expect, it } from 'vitest';
import type { Sound } from '../../src/audio/audio.ts';
import { STRETCH, type Samples } from '../../src/audio/samples.ts';
import { keptAsRead, keptIn } from '../../src/render/store/kept.ts';
import { memoryRoom } from '../../src/render/store/room.ts';
import { expectSameSamples } from '../helpers/same-samples.ts';
import { whiteNoise } from '../helpers/signals.ts';

const FRAMES = 3 * STRETCH + 99;
const [left, right] = [1, 2].map((seed) => whiteNoise((FRAMES + 1) / 48_000, seed).subarray(0, FRAMES)) as [
  Float32Array,
  Float32Array,
];

/** Samples that note which of them were asked for. */
const watched = (samples: Float32Array, asked: [from: number, to: number][]): Samples => ({
  length: samples.length,
  subarray: (from, to) => {
    asked.push([from, to]);
    return samples.subarray(from, to);
  },
});

it.each([1, 2])('a sound of %i channels is kept as it is', (count) => {
  const sound: Sound = { sampleRate: 48_000, channels: [left, right].slice(0, count) };
  const kept = keptIn(memoryRoom, sound);
  expect(kept.channels).toHaveLength(count);
  kept.channels.forEach((channel, c) =>
    expectSameSamples(channel.subarray(0, FRAMES), sound.channels[c]!.subarray(0, FRAMES)),
  );
});

it('what takes long to work out is worked out once, a stretch when it is first read, in whatever order', () => {
  const asked: [number, number][] = [];
  const kept = keptAsRead(memoryRoom, { sampleRate: 44_100, channels: [watched(left, asked), right] });
  for (const [from, to] of [
    [2 * STRETCH + 5, 2 * STRETCH + 9],
    [STRETCH - 3, STRETCH + 3],
    [0, FRAMES],
    [7, 7],
  ] as const) {
    expectSameSamples(kept.channels[0]!.subarray(from, to), left.subarray(from, to));
    expectSameSamples(kept.channels[1]!.subarray(from, to), right.subarray(from, to));
  }
  expect(asked).toEqual([
    [2 * STRETCH, 3 * STRETCH],
    [0, STRETCH],
    [STRETCH, 2 * STRETCH],
    [3 * STRETCH, FRAMES],
  ]);
});
