import type { TempoMap } from '../../session/tempo-map.ts';

/** What edges and loops on the strip are drawn to. */
export type Snap = 'bars' | 'beats' | 'off';
export const SNAPS: readonly Snap[] = ['bars', 'beats', 'off'];

/** The moment that another is drawn to, seconds. */
export const snapped = (seconds: number, map: TempoMap, snap: Snap): number => {
  if (snap === 'off') return seconds;
  return snap === 'beats' ? map.nearestBeat(seconds) : Math.max(0, map.secondsAt(Math.round(map.barAt(seconds))));
};

/** The shortest loop from a moment on, seconds: to the next bar or beat. */
export const leastFrom = (seconds: number, map: TempoMap, snap: Snap): number =>
  snap === 'bars' ? map.beatsFrom(seconds, map.tempoAt(seconds).meter[0]) : map.beatsFrom(seconds, 1);
