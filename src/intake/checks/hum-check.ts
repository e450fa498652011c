import type { Audio } from '../../audio/audio.ts';
import { median, quantile } from '../rough/median.ts';
import { humInPauses, MAINS, type Hum } from './hum-in-pauses.ts';
import type { Spectra } from './spectra.ts';
import { warning, type Warning } from './warning.ts';

// Limits in this file are common practice, set so that ordinary tracks raise nothing.

/** How many harmonics of the mains are looked at in the spectrum. */
const HARMONICS = 8;
/** A line stands so much above the spectrum beside it, dB, in the quiet frames. */
const LINE_DB = 14;
/** And is at least so loud in all, dBFS. */
const LEAST_HUM = -78;
/** Between the quietest and the usual frames hum moves by no more, dB. */
const STEADY_DB = 6;
/** Lines that must be there; one is enough where it is the mains frequency itself, this clear and this steady, dB. */
const LEAST_LINES = 2;
const [ALONE_DB, ALONE_STEADY_DB] = [22, 2];
/** A line lies this near to its place, Hz: the notes beside 50 and 60 Hz (G1, B flat 1, B1) are further off. */
const IN_PLACE = 0.45;

const powerAt = (frame: Float32Array, hzPerBin: number, hz: number): number => {
  const bin = Math.round(hz / hzPerBin);
  let sum = 0;
  for (let k = bin - 2; k <= bin + 2; k++) sum += frame[k] ?? 0;
  return sum;
};

/** Power usually found in as wide a stretch beside a line. */
const powerBeside = (frame: Float32Array, hzPerBin: number, hz: number): number => {
  const bin = Math.round(hz / hzPerBin);
  const beside = [-11, -9, -7, 7, 9, 11].map((shift) => frame[bin + shift] ?? 0);
  return 5 * median(beside);
};

/** Where the power around a line has its centre, Hz. */
const centreOf = (frames: readonly Float32Array[], hzPerBin: number, hz: number): number => {
  const bin = Math.round(hz / hzPerBin);
  let [sum, moment] = [0, 0];
  for (const frame of frames) {
    for (let k = bin - 2; k <= bin + 2; k++) {
      sum += frame[k] ?? 0;
      moment += k * (frame[k] ?? 0);
    }
  }
  return sum > 0 ? (moment / sum) * hzPerBin : 0;
};

/** A line at a harmonic of the mains: power in the quiet frames, how far it stands out, and how much it moves, dB. */
interface Line {
  readonly hz: number;
  readonly power: number;
  readonly aboveDb: number;
  readonly movesDb: number;
}

const lineAt = (quiet: readonly Float32Array[], hzPerBin: number, hz: number): Line | null => {
  const powers = quiet.map((frame) => powerAt(frame, hzPerBin, hz));
  const beside = median(quiet.map((frame) => powerBeside(frame, hzPerBin, hz)));
  const power = median(powers);
  const line = {
    ...{ hz, power },
    aboveDb: 10 * Math.log10(power / (beside + 1e-30)),
    movesDb: 10 * Math.log10(power / (quantile(powers, 0.1) + 1e-30)),
  };
  const isLine = line.aboveDb > LINE_DB && line.movesDb < STEADY_DB;
  return isLine && Math.abs(centreOf(quiet, hzPerBin, hz) - hz) < IN_PLACE ? line : null;
};

/** The quietest third of the frames that are not silent. */
const quietFrames = (frames: readonly Float32Array[]): readonly Float32Array[] => {
  const energies = frames.map((frame) => frame.reduce((sum, power) => sum + power, 0));
  const limit = quantile(energies, 0.3);
  return frames.filter((_, n) => energies[n]! <= limit && energies[n]! > 0);
};

/** Hum that stands above the quiet frames of the spectrum; null: none is seen there. */
const humInSpectra = ({ frames, hzPerBin }: Spectra): Hum | null => {
  if (frames.length < 4) return null;
  const quiet = quietFrames(frames);
  if (quiet.length < 2) return null;
  const told = MAINS.map((mains) => {
    const places = Array.from({ length: HARMONICS }, (_, n) => (n + 1) * mains);
    return { mains, lines: places.flatMap((hz) => lineAt(quiet, hzPerBin, hz) ?? []) };
  }).reduce((most, each) => (each.lines.length > most.lines.length ? each : most));
  const { mains, lines } = told;
  const [first] = lines;
  const isClear = first?.hz === mains && first.aboveDb > ALONE_DB && first.movesDb < ALONE_STEADY_DB;
  const level = 10 * Math.log10(lines.reduce((sum, { power }) => sum + 2 * power, 0) + 1e-30);
  if ((lines.length < LEAST_LINES && !isClear) || level < LEAST_HUM) return null;
  return { mains, places: lines.map(({ hz }) => hz), level };
};

/** Level of lines at these frequencies in the quieter frames of a spectrum, dBFS. */
export const humLevel = ({ frames, hzPerBin }: Spectra, places: readonly number[]): number => {
  const quiet = quietFrames(frames);
  const power = (hz: number): number => median(quiet.map((frame) => powerAt(frame, hzPerBin, hz)));
  return 10 * Math.log10(places.reduce((sum, hz) => sum + 2 * power(hz), 0) + 1e-30);
};

/** Hum of the mains, in the spectrum or in the pauses. */
export const humCheck = (audio: Audio, spectra: Spectra): Warning[] => {
  const found = humInSpectra(spectra) ?? humInPauses(audio);
  if (!found || found.level < LEAST_HUM) return [];
  const { mains, places, level } = found;
  const stand = places.length === 1 ? 'a line at' : 'lines at';
  return [
    warning(
      'hum',
      `It hums at ${mains} Hz: ${stand} ${places.join(', ')} Hz ${places.length === 1 ? 'stands' : 'stand'} above its quiet parts, together at ${level.toFixed(0)} dBFS.`,
      'Cut these lines with narrow notches where the part leaves room, or gate its pauses.',
      { kind: 'notches', hz: places },
    ),
  ];
};
