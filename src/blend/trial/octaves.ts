import type { BandFigures } from '../../measure/figures.ts';

/** A spectrum and the loudness that it is compared at. */
export interface Sounding {
  readonly integratedLufs: number | null;
  readonly bands: readonly BandFigures[];
}

/** How much one octave of a sound differs from that of another at equal loudness. */
export interface OctaveShift {
  /** Exact mid frequency, Hz. */
  readonly hz: number;
  /** Positive: more than before. */
  readonly db: number;
}

/** An octave that lies this far below the loudest one, before and now, does not count: hardly anything is heard of it. */
const HEARD_DB = 40;

/** Number of the octave of a third octave: 0 is that of 1 kHz, with the thirds to both sides (IEC 61260-1, base 10). */
const octaveOf = (hz: number): number => Math.floor((Math.round(10 * Math.log10(hz / 1000)) + 1) / 3);

/** Power of each octave at a loudness of 0 LUFS, of those third octaves that `hz` holds. */
const octavePowers = (bands: readonly BandFigures[], lufs: number, hz: ReadonlySet<number>): Map<number, number> => {
  const powers = new Map<number, number>();
  for (const band of bands) {
    if (!hz.has(band.hz)) continue;
    const octave = octaveOf(band.hz);
    const power = band.levelDb === null ? 0 : 10 ** ((band.levelDb - lufs) / 10);
    powers.set(octave, (powers.get(octave) ?? 0) + power);
  }
  return powers;
};

/**
 * Shift of each octave that counts, from sums of third octaves that both have, each sound brought to the same loudness.
 * null where a loudness does not exist.
 */
export const octaveShiftsOf = (before: Sounding, now: Sounding): OctaveShift[] | null => {
  if (before.integratedLufs === null || now.integratedLufs === null) return null;
  const nowHz = new Set(now.bands.map(({ hz }) => hz));
  const hz = new Set(before.bands.map((band) => band.hz).filter((each) => nowHz.has(each)));
  const earlier = octavePowers(before.bands, before.integratedLufs, hz);
  const later = octavePowers(now.bands, now.integratedLufs, hz);
  const floor = 10 ** (-HEARD_DB / 10);
  const least = [floor * Math.max(...earlier.values()), floor * Math.max(...later.values())] as const;
  return [...earlier].flatMap(([octave, power]) => {
    const other = later.get(octave)!;
    if (power < least[0] && other < least[1]) return [];
    // A floor under both: an octave that was empty has not shifted without end.
    const db = 10 * Math.log10(Math.max(other, least[1]) / Math.max(power, least[0]));
    return [{ hz: 1000 * 10 ** (0.3 * octave), db }];
  });
};
