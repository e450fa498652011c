import type { BandFigures, Figures } from '../../src/measure/figures.ts';
import type { Claim } from '../../src/session/presets/preset.ts';

/** What a claim is judged by: figures before and after; words of what is wrong, or null. */
type Judge = (before: Figures, after: Figures) => string | null;

/** Bands this far below the loudest are not heard, and their changes say nothing, dB. */
const UNHEARD_DB = 60;

interface BandChange {
  readonly hz: number;
  readonly before: number;
  readonly change: number;
}

const heardBands = (before: Figures, after: Figures): BandChange[] => {
  const levels = (bands: readonly BandFigures[]): number[] => bands.map(({ levelDb }) => levelDb ?? -200);
  const [from, to] = [levels(before.bands), levels(after.bands)];
  const floor = Math.max(...from) - UNHEARD_DB;
  return before.bands.flatMap(({ hz }, n) =>
    Math.max(from[n]!, to[n]!) < floor ? [] : [{ hz, before: from[n]!, change: to[n]! - from[n]! }],
  );
};

/** Third octaves whose middle lies between two frequencies, and the others. */
const divided = (bands: readonly BandChange[], from: number, to: number): [BandChange[], BandChange[]] => {
  const isIn = ({ hz }: BandChange): boolean => hz > from * 0.98 && hz < to * 1.02;
  return [bands.filter(isIn), bands.filter((band) => !isIn(band))];
};

const mean = (values: readonly number[]): number => values.reduce((sum, x) => sum + x, 0) / values.length;

/** `sign` 1: the range gains more than any band outside; -1: it loses more. */
const moved =
  (from: number, to: number, sign: 1 | -1): Judge =>
  (before, after) => {
    const [inside, outside] = divided(heardBands(before, after), from, to);
    const here = mean(inside.map(({ change }) => sign * change));
    const most = outside.reduce((a, b) => (sign * b.change > sign * a.change ? b : a));
    if (here > sign * most.change) return null;
    return `${from}..${to} Hz moved by ${(sign * here).toFixed(1)} dB, ${most.hz.toFixed(0)} Hz by ${most.change.toFixed(1)} dB`;
  };

/** Two bands that are as loud within this may change places, dB. */
const ALIKE_DB = 0.5;

const calmsHarshness: Judge = (before, after) => {
  const [inside, outside] = divided(heardBands(before, after), 2000, 8000);
  const loudest = inside.reduce((a, b) => (b.before > a.before ? b : a));
  const others = [...inside.map(({ change }) => change + ALIKE_DB), ...outside.map(({ change }) => change)];
  if (loudest.change < -1 && loudest.change <= Math.min(...others)) return null;
  return `the loudest band, ${loudest.hz.toFixed(0)} Hz, moved by ${loudest.change.toFixed(1)} dB, another by ${Math.min(...others).toFixed(1)}`;
};

/** What a mono fold may lose, LU. */
const MONO_LOSS_LU = -1.5;

const widens: Judge = (before, after) => {
  const [from, to] = [before.stereo.sideToMidDb ?? -60, after.stereo.sideToMidDb ?? -60];
  const loss = after.stereo.monoLossLu ?? 0;
  return to > from + 0.1 && loss > MONO_LOSS_LU
    ? null
    : `side to mid from ${from.toFixed(1)} to ${to.toFixed(1)} dB, mono loss ${loss.toFixed(2)} LU`;
};

const narrows: Judge = (before, after) =>
  after.stereo.sideToMidDb! < before.stereo.sideToMidDb! - 2 ? null : `side to mid ${after.stereo.sideToMidDb} dB`;

const crest =
  (sign: 1 | -1): Judge =>
  (before, after) => {
    const change = after.crestDb! - before.crestDb!;
    return sign * change > 0.3 ? null : `crest moved by ${change.toFixed(1)} dB`;
  };

const aboveWhole = ({ maxMomentaryLufs, integratedLufs }: Figures): number => maxMomentaryLufs! - integratedLufs!;

const evens: Judge = (before, after) => {
  const change = aboveWhole(after) - aboveWhole(before);
  return change < 0 ? null : `the loudest moment rose by ${change.toFixed(1)} LU`;
};

const monoLows: Judge = (_before, after) => {
  const wide = after.bands.find(({ hz, sideToMidDb }) => hz < 101 && (sideToMidDb ?? -200) > -20);
  return wide ? `${wide.hz.toFixed(0)} Hz has a side of ${wide.sideToMidDb!.toFixed(1)} dB` : null;
};

/** How figures tell that a claim holds; null where figures of one pass do not tell. */
export const judgeOf = (claim: Claim): Judge | null => {
  switch (claim.claim) {
    case 'lowers crest':
      return crest(-1);
    case 'raises crest':
      return crest(1);
    case 'evens loudness':
      return evens;
    case 'widens':
      return widens;
    case 'narrows':
      return narrows;
    case 'lifts':
      return moved(claim.from, claim.to, 1);
    case 'cuts':
      return moved(claim.from, claim.to, -1);
    case 'calms harshness':
      return calmsHarshness;
    case 'keeps lows mono':
      return monoLows;
    default:
      return null;
  }
};
