import type { BandFigures, Figures } from '../../measure/figures.ts';

/** The third octave that a path lowers most: of the sum with its source, or of the mix where it has no source. */
export interface Cancellation {
  /** At most 0, dB; the worst third octave. */
  readonly db: number;
  /** Mid frequency of that band, Hz; null when nothing cancels. */
  readonly hz: number | null;
}

/** Bands this far below the loudest, dB, are left out: a cancellation there is not heard (common practice). */
const AUDIBLE_BAND_DB = 30;

/** Value shown for a band that is cancelled completely, dB. */
const DEEPEST_DB = -120;

/** Changes smaller than these, LU and dB, are left out of a sentence: hardly anyone hears them in a mix (common practice). */
const HEARD_LU = 0.05;
const HEARD_DB = 0.2;
export const HEARD_CANCELLATION_DB = -0.5;

/** A third octave that a path lowers, by less than 0 dB. */
export interface Lowered {
  readonly hz: number;
  readonly db: number;
}

/** Third octaves, low to high, that are lower in `together` than in `without` and within AUDIBLE_BAND_DB of its loudest. */
export const loweredBands = (without: readonly BandFigures[], together: readonly BandFigures[]): readonly Lowered[] => {
  const loudest = Math.max(...without.map(({ levelDb }) => levelDb ?? -Infinity));
  return without.flatMap(({ hz, levelDb }, band) => {
    if (levelDb === null || levelDb <= loudest - AUDIBLE_BAND_DB) return [];
    const db = (together[band]?.levelDb ?? -Infinity) - levelDb;
    return db < 0 ? [{ hz, db: Math.max(DEEPEST_DB, db) }] : [];
  });
};

/** The band that is lowered most; 0 dB and no frequency where none is. */
export const worstOf = (lowered: readonly Lowered[]): Cancellation =>
  lowered.reduce<Cancellation>((worst, each) => (each.db < worst.db ? each : worst), { db: 0, hz: null });

/** A frequency to two digits: "900 Hz", "3.2 kHz". */
export const hertzText = (hz: number): string =>
  hz < 1000 ? `${Number(hz.toPrecision(2))} Hz` : `${Number((hz / 1000).toPrecision(2))} kHz`;

/** The frequency range of most of what the path adds, in a few words; '' when it is spread evenly. */
const whereOf = (change: readonly BandFigures[]): string => {
  const raised = change.map(({ hz, levelDb }) => ({ hz, db: Math.max(0, levelDb ?? 0) }));
  const total = raised.reduce((sum, { db }) => sum + db, 0);
  if (!(total > 1)) return '';
  const part = (from: number, to: number): number =>
    raised.reduce((sum, { hz, db }) => sum + (hz >= from && hz < to ? db : 0), 0) / total;
  const regions: readonly (readonly [string, number, number])[] = [
    [`below ${hertzText(200)}`, 0, 200],
    [`between ${hertzText(200)} and ${hertzText(1000)}`, 200, 1000],
    [`between ${hertzText(1000)} and ${hertzText(5000)}`, 1000, 5000],
    [`above ${hertzText(5000)}`, 5000, Infinity],
  ];
  const [name] = regions.find(([, from, to]) => part(from, to) > 0.5) ?? [''];
  return name ? `, mostly ${name}` : '';
};

const moved = (value: number | null, least: number, up: string, down: string): string | null => {
  if (value === null || Math.abs(value) < least) return null;
  const strength = Math.abs(value) < 3 * least ? ' slightly' : '';
  return `${value > 0 ? up : down}${strength}`;
};

/**
 * One sentence on what a path does to the mix, from its figures. `change`: the mix with it less the mix without it.
 */
export const sentenceOfPath = (change: Figures, cancellation: Cancellation, shareOfLoudness: number | null): string => {
  const { integratedLufs: loudness, crestDb, stereo } = change;
  if (shareOfLoudness === null || shareOfLoudness === 0)
    return 'Adds nothing to the mix: it is muted, at −∞ or silent.';
  const parts = [
    loudness === null
      ? shareOfLoudness === 1
        ? 'is the only path that is heard'
        : 'has no measurable effect on loudness'
      : Math.abs(loudness) < HEARD_LU
        ? `does not change the loudness${whereOf(change.bands).replace(', mostly', ', acts mostly')}`
        : `${loudness > 0 ? 'adds' : 'removes'} ${Math.abs(loudness).toFixed(1)} LU${whereOf(change.bands)}`,
    moved(stereo.sideToMidDb, HEARD_DB, 'widens the mix', 'narrows the mix'),
    moved(crestDb, HEARD_DB, 'raises crest', 'lowers crest'),
    moved(stereo.monoLossLu, HEARD_DB, 'reduces mono loss', 'increases mono loss'),
    cancellation.hz !== null && cancellation.db < HEARD_CANCELLATION_DB
      ? `cancels ${Math.abs(cancellation.db).toFixed(1)} dB at ${hertzText(cancellation.hz)}`
      : null,
    shareOfLoudness < 0 ? 'partly cancels the other paths' : null,
  ].filter((part) => part !== null);
  const sentence = parts.join('; ');
  return `${sentence[0]!.toUpperCase()}${sentence.slice(1)}.`;
};
