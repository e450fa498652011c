import { type GainMatrix, straight } from './gain-matrix.ts';

/** Level of the centre relative to a hard pan; see `panMatrix`. */
export const PAN_LAWS = ['-3 dB', '-4.5 dB', '-6 dB'] as const;
export type PanLaw = (typeof PAN_LAWS)[number];

/** Gains of the two sides for a pan from one (0) to the other (1). */
const ways: Readonly<Record<PanLaw, (way: number) => readonly [from: number, to: number]>> = {
  '-3 dB': (way) => [Math.cos((way * Math.PI) / 2), Math.sin((way * Math.PI) / 2)],
  '-4.5 dB': (way) => [
    Math.sqrt((1 - way) * Math.cos((way * Math.PI) / 2)),
    Math.sqrt(way * Math.sin((way * Math.PI) / 2)),
  ],
  '-6 dB': (way) => [1 - way, way],
};

/** Factor that brings the centre to 0 dB: 1 over the gain of either side half-way. */
const MIDDLE: Readonly<Record<PanLaw, number>> = { '-3 dB': Math.SQRT2, '-4.5 dB': 2 ** 0.75, '-6 dB': 2 };

/**
 * Gains that place a source between the speakers; `pan` -1 left .. +1 right, 0 is exactly a wire whatever the law.
 * On the way w = 0..1 from one side to the other the two sides have
 *   '-3 dB', equal power: cos(w π/2) and sin(w π/2); '-6 dB', linear: 1 - w and w; '-4.5 dB': the geometric mean of both
 * (the three laws of R. B. Dannenberg, Introduction to Computer Music, "Panning", from memory).
 * Mono: levelled so that the middle is 0 dB and hard to one side is +3.01, +4.52 or +6.02 dB.
 * Stereo: the far channel is folded towards the near side by the law: half-way it is 3.01, 4.52 or 6.02 dB down on both (with
 * equal power the stereo law of the Web Audio API specification).
 */
export const panMatrix = (pan: number, channels: number, gain: number, law: PanLaw = '-3 dB'): GainMatrix => {
  if (pan === 0) return straight(gain);
  if (channels === 1) {
    const [left, right] = ways[law]((pan + 1) / 2);
    const level = gain * MIDDLE[law];
    return { leftToLeft: level * left, leftToRight: 0, rightToLeft: 0, rightToRight: level * right };
  }
  const [from, to] = ways[law](pan < 0 ? pan + 1 : pan);
  return pan < 0
    ? { leftToLeft: gain, leftToRight: 0, rightToLeft: gain * from, rightToRight: gain * to }
    : { leftToLeft: gain * from, leftToRight: gain * to, rightToLeft: 0, rightToRight: gain };
};
