import { highpass, filter, lowpass } from '../filters.ts';
import type { Signal } from '../signal.ts';
import { mixInto, silence } from '../signal.ts';
import { sampleRate } from '../tempo.ts';
import { reverberate } from './feedback-network.ts';
import type { Kit } from './kit.ts';

type Point = readonly [number, number, number];

/** A live room, metres: width, depth, height. The kit stands near the back wall, the pair of microphones in front. */
const size: Point = [6.2, 7.4, 3.1];
const microphones: readonly [Point, Point] = [
  [2.1, 4.7, 1.7],
  [4.1, 4.7, 1.7],
];

/** Where each drum stands, and how loud it is in the room against its own close microphone. */
const sources: readonly { of: keyof Kit; at: Point; gain: number }[] = [
  { of: 'kick', at: [3.1, 1.9, 0.4], gain: 0.8 },
  { of: 'snare', at: [2.8, 1.7, 0.8], gain: 1.1 },
  { of: 'hats', at: [2.4, 1.8, 1.0], gain: 0.42 },
  { of: 'toms', at: [3.7, 1.7, 0.7], gain: 0.9 },
  { of: 'cymbals', at: [2.5, 1.5, 1.5], gain: 0.55 },
];

/** The source and its six first-order mirror images in the walls (Allen and Berkley 1979). */
const images = (at: Point): Point[] => {
  const mirrored = [0, 1, 2].flatMap((axis) =>
    [-at[axis]!, 2 * size[axis]! - at[axis]!].map((x) => at.map((v, i) => (i === axis ? x : v)) as unknown as Point),
  );
  return [at, ...mirrored];
};

const distance = (a: Point, b: Point): number => Math.hypot(a[0] - b[0], a[1] - b[1], a[2] - b[2]);

/** Stereo room of the kit: direct sound, first reflections, a short dark tail. Late by the way through the air. */
export const roomOf = (kit: Kit): [Signal, Signal] => {
  const walls: [Signal, Signal] = [silence(), silence()];
  const out: [Signal, Signal] = [silence(), silence()];
  const spray = silence();
  for (const { of, at, gain } of sources) {
    mixInto(spray, kit[of], 0.5 * gain, Math.round(0.011 * sampleRate));
    images(at).forEach((image, order) =>
      microphones.forEach((microphone, side) => {
        const metres = distance(image, microphone);
        const target = (order === 0 ? out : walls)[side]!;
        mixInto(target, kit[of], (gain / metres) * (order === 0 ? 1 : 0.85), Math.round((metres / 343) * sampleRate));
      }),
    );
  }
  const tail = reverberate(filter(spray, lowpass(6500), highpass(90)), { seconds: 0.8, dampingHz: 4200, size: 0.62 });
  return [0, 1].map((side) => {
    mixInto(out[side]!, filter(walls[side]!, lowpass(5200)), 1);
    mixInto(out[side]!, tail[side]!, 1);
    return filter(out[side]!, lowpass(8200), highpass(38));
  }) as [Signal, Signal];
};
