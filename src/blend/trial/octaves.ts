import { bandLoudness } from '../../measure/loudness/band-loudness.ts';
import type { BandFigures } from '../../measure/figures.ts';

/** A sound of which the spectrum is compared. */
export interface Sounding {
  readonly bands: readonly BandFigures[];
}

/** How much one octave of a sound differs from that of another at equal loudness. */
interface OctaveShift {
  /** Exact mid frequency, Hz. */
  readonly hz: number;
  /** Positive: more than before. */
  readonly db: number;
}

/** Octaves this far below the loudest one, both before and now, are left out: they are hardly audible. */
const HEARD_DB = 40;

/** Number of the octave of a third octave: 0 is that of 1 kHz, with the thirds to both sides (IEC 61260-1, base 10). */
const octaveOf = (hz: number): number => Math.floor((Math.round(10 * Math.log10(hz / 1000)) + 1) / 3);

/** Power of each octave, brought to a loudness of 0 LUFS; null: silence. */
const octavePowers = (bands: readonly BandFigures[]): Map<number, number> | null => {
  const lufs = bandLoudness(bands);
  if (lufs === null) return null;
  const powers = new Map<number, number>();
  for (const { hz, levelDb } of bands) {
    const octave = octaveOf(hz);
    const power = levelDb === null ? 0 : 10 ** ((levelDb - lufs) / 10);
    powers.set(octave, (powers.get(octave) ?? 0) + power);
  }
  return powers;
};

/**
 * Shift of each octave that counts, from sums of third octaves that both have, each sound brought to the same loudness
 * (that of these bands without gates: see `bandLoudness`). null where one of the two is silent.
 */
export const octaveShiftsOf = (before: Sounding, now: Sounding): OctaveShift[] | null => {
  const common = (bands: readonly BandFigures[], others: readonly BandFigures[]): BandFigures[] =>
    bands.filter(({ hz }) => others.some((other) => other.hz === hz));
  const earlier = octavePowers(common(before.bands, now.bands));
  const later = octavePowers(common(now.bands, before.bands));
  if (!earlier || !later) return null;
  const floor = 10 ** (-HEARD_DB / 10);
  const least = [floor * Math.max(...earlier.values()), floor * Math.max(...later.values())] as const;
  return [...earlier].flatMap(([octave, power]) => {
    const other = later.get(octave)!;
    if (power < least[0] && other < least[1]) return [];
    // Both are limited from below, so that the shift of an octave that was empty is finite.
    const db = 10 * Math.log10(Math.max(other, least[1]) / Math.max(power, least[0]));
    return [{ hz: 1000 * 10 ** (0.3 * octave), db }];
  });
};
