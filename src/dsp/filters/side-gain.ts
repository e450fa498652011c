import { lowPartGain } from './crossover.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { MONO_OFF } from './mono-below.ts';

/** `count` frequencies from 20 Hz to 20 kHz (or to half the rate, if that is lower), evenly on a logarithmic line. */
export const audibleGrid = (sampleRate: number, count: number): readonly number[] => {
  const top = Math.min(20000, sampleRate / 2);
  return Array.from({ length: count }, (_, n) => 20 * (top / 20) ** (n / Math.max(1, count - 1)));
};

/**
 * Curve of the gain of the side signal.
 *
 * @param gainAt linear gain of the side at a frequency, Hz, mono lows left out of account
 * @param monoBelow corner below which there is no side, Hz
 * @param floorDb lower values are drawn at this level
 */
export const sideGainPoints = (
  gainAt: (hz: number) => number,
  monoBelow: number,
  floorDb: number,
  sampleRate: number,
  count: number,
): readonly (readonly [number, number])[] =>
  audibleGrid(sampleRate, count).map((hz) => {
    const kept = monoBelow > MONO_OFF ? 1 - lowPartGain(monoBelow, hz, sampleRate) : 1;
    return [hz, Math.max(floorDb, decibelsOf(kept * gainAt(hz)))] as const;
  });
