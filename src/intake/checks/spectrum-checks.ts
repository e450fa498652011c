import { framesOf, type Audio } from '../../audio/audio.ts';
import { midSideTransformer } from '../../measure/mid-side-transform.ts';
import { median, quantile } from '../rough/median.ts';
import { warning, type Warning } from './warning.ts';

// Limits in this file are common practice, set so that ordinary tracks raise nothing.

/** Frames of about two thirds of a second: lines of mains hum stand apart from notes beside them. */
const FRAME_SECONDS = 0.68;
/** Frames that are looked at, spread over the file. */
const MOST_FRAMES = 240;

/** Power spectra of frames spread over a file, all channels together. */
interface Spectra {
  readonly hzPerBin: number;
  /** Frames x bins. */
  readonly frames: readonly Float32Array[];
}

const spectraOf = (audio: Audio): Spectra => {
  const size = 2 ** Math.round(Math.log2(FRAME_SECONDS * audio.sampleRate));
  const transform = midSideTransformer(size);
  const [left, right] = [audio.channels[0]!, audio.channels[1] ?? audio.channels[0]!];
  const [mid, side] = [new Float32Array(size + 2), new Float32Array(size + 2)];
  const count = Math.max(1, Math.min(MOST_FRAMES, Math.floor((2 * framesOf(audio)) / size) - 1));
  const frames = Array.from({ length: count }, (_, n) => {
    const last = Math.max(0, framesOf(audio) - size);
    transform(left, right, Math.round(count === 1 ? 0 : (n * last) / (count - 1)));
    transform.separate(mid, side);
    const powers = new Float32Array(size / 2 + 1);
    for (let k = 0; k < powers.length; k++) {
      powers[k] = (mid[2 * k]! ** 2 + mid[2 * k + 1]! ** 2 + side[2 * k]! ** 2 + side[2 * k + 1]! ** 2) / size ** 2;
    }
    return powers;
  });
  return { hzPerBin: audio.sampleRate / size, frames };
};

/** Mean of the frames, and so much smoothed: bins of this many Hz together. */
const SMOOTH_HZ = 100;

const smoothMean = ({ frames, hzPerBin }: Spectra): { readonly levels: number[]; readonly width: number } => {
  const bins = frames[0]!.length;
  const per = Math.max(1, Math.round(SMOOTH_HZ / hzPerBin));
  const levels: number[] = [];
  for (let from = 0; from + per <= bins; from += per) {
    let sum = 0;
    for (const frame of frames) for (let k = from; k < from + per; k++) sum += frame[k]!;
    levels.push(10 * Math.log10(sum / (per * frames.length) + 1e-30));
  }
  return { levels, width: per * hzPerBin };
};

/** A wall: the level falls by so much, dB, within so many Hz, and stays there up to the end. */
const [WALL_DB, WALL_HZ] = [28, 700];
/** What stands before the wall, beside the strongest part of the spectrum: less tells nothing of a wall, dB. */
const FAINT_DB = -85;
/** From this part of half the rate on, converters cut by themselves. */
const OWN_CUT = 0.93;
/** Walls lower than this are low-passed sound, or an instrument's own. */
const LOWEST_WALL = 7000;
/** Half the rates from which material is usually converted, Hz. */
const HALF_RATES = [11_025, 16_000, 22_050, 24_000, 44_100, 48_000];

/** Below a wall, the stretch right before it and one further down, Hz; they differ by no more than this, dB. */
const [RIGHT_BEFORE, FURTHER, SLOPE_DB] = [[800, 150], [3000, 2000], 25] as const;
/** In this part of the loud frames the sound reaches the wall. */
const REACHED = 0.8;
/** The usual bin right before a wall is no more than this below the mean there, dB: lines of harmonics are further. */
const BETWEEN_LINES_DB = 12;

/**
 * Whether sound fills the spectrum up to this frequency all the time, as behind a filter: harmonics that end somewhere do
 * not, and each note ends elsewhere.
 */
const isFilled = ({ frames, hzPerBin }: Spectra, hz: number): boolean => {
  const bin = (below: number): number => Math.max(0, Math.round((hz - below) / hzPerBin));
  const mean = (frame: Float32Array, [from, to]: readonly [number, number]): number => {
    const part = frame.subarray(bin(from), bin(to));
    return part.reduce((sum, power) => sum + power, 0) / Math.max(1, part.length);
  };
  const further = frames.map((frame) => mean(frame, FURTHER));
  const loud = frames.filter((_, n) => further[n]! > 0.1 * quantile(further, 0.9));
  const reached = loud.filter((frame) => mean(frame, RIGHT_BEFORE) > 10 ** (-SLOPE_DB / 10) * mean(frame, FURTHER));
  const isEven = loud.filter((frame) => {
    const part = Array.from(frame.subarray(bin(RIGHT_BEFORE[0]), bin(RIGHT_BEFORE[1])));
    return median(part) > 10 ** (-BETWEEN_LINES_DB / 10) * mean(frame, RIGHT_BEFORE);
  });
  return reached.length >= REACHED * loud.length && isEven.length >= REACHED * loud.length;
};

/** Where the spectrum ends as if cut with a knife, Hz; null where it does not. */
const wallOf = (spectra: Spectra, sampleRate: number): number | null => {
  const { levels, width } = smoothMean(spectra);
  const span = Math.max(2, Math.round(WALL_HZ / width));
  const strongest = Math.max(...levels);
  const last = Math.floor((OWN_CUT * sampleRate) / 2 / width);
  for (let n = Math.floor(LOWEST_WALL / width); n <= Math.min(last, levels.length - span - 2); n++) {
    const before = median(levels.slice(Math.max(0, n - span), n));
    const behind = levels.slice(n + span, levels.length - 1);
    if (before < strongest + FAINT_DB || behind.length < 2) continue;
    if (before - Math.max(...behind) > WALL_DB) {
      // The knee: where it has fallen by a tenth of the way.
      let edge = n;
      while (edge < n + span && levels[edge]! > before - WALL_DB / 3) edge++;
      const hz = edge * width;
      return isFilled(spectra, hz) ? hz : null;
    }
  }
  return null;
};

const wall = (spectra: Spectra, sampleRate: number): Warning[] => {
  const hz = wallOf(spectra, sampleRate);
  if (hz === null) return [];
  const khz = (hz / 1000).toFixed(1);
  const half = HALF_RATES.find((each) => each < 0.49 * sampleRate && hz > 0.88 * each && hz < 1.01 * each);
  const isConverted = half !== undefined && half !== 16_000;
  if (isConverted) {
    const from = (2 * half) / 1000;
    return [
      warning(
        'up-sampled',
        `Its spectrum ends like a wall at ${khz} kHz: it was converted up from about ${from} kHz, or decoded from a lossy format.`,
        'Ask for the track at its first rate, without conversions.',
      ),
    ];
  }
  return [
    warning(
      'lossy',
      `Its spectrum ends like a wall at ${khz} kHz, as MP3 and the like leave it: it was probably decoded from a lossy format.`,
      'Ask for the track as WAV, AIFF or FLAC from the session.',
    ),
  ];
};

/** Mains frequencies, and how many of their harmonics are looked at. */
const MAINS = [50, 60];
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

const hum = ({ frames, hzPerBin }: Spectra): Warning[] => {
  if (frames.length < 4) return [];
  const energies = frames.map((frame) => frame.reduce((sum, power) => sum + power, 0));
  const limit = quantile(energies, 0.3);
  const quiet = frames.filter((_, n) => energies[n]! <= limit && energies[n]! > 0);
  if (quiet.length < 2) return [];
  const told = MAINS.map((mains) => {
    const places = Array.from({ length: HARMONICS }, (_, n) => (n + 1) * mains);
    return { mains, lines: places.flatMap((hz) => lineAt(quiet, hzPerBin, hz) ?? []) };
  }).reduce((most, each) => (each.lines.length > most.lines.length ? each : most));
  const { mains, lines } = told;
  const [first] = lines;
  const isClear = first?.hz === mains && first.aboveDb > ALONE_DB && first.movesDb < ALONE_STEADY_DB;
  const level = 10 * Math.log10(lines.reduce((sum, { power }) => sum + 2 * power, 0) + 1e-30);
  if ((lines.length < LEAST_LINES && !isClear) || level < LEAST_HUM) return [];
  const places = lines.map(({ hz }) => hz);
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

/** Blocks of which the quietest are the noise floor, seconds. */
const FLOOR_BLOCK = 0.1;
/** Noise is told from this level on, dBFS rms. */
const LEAST_NOISE = -62;
/** It is as steady as this between the quietest and more of the quiet blocks, dB, and so far below the sound. */
const [NOISE_STEADY, BELOW_SOUND] = [1.5, 18];

const noiseFloor = ({ channels, sampleRate }: Audio): Warning[] => {
  const length = Math.round(FLOOR_BLOCK * sampleRate);
  const levels: number[] = [];
  for (let from = 0; from + length <= channels[0]!.length; from += length) {
    let sum = 0;
    for (const channel of channels) for (let n = from; n < from + length; n++) sum += channel[n]! ** 2;
    levels.push(10 * Math.log10(sum / (length * channels.length) + 1e-30));
  }
  if (levels.length < 20) return [];
  const [lowest, more, loud] = [0.03, 0.12, 0.9].map((part) => quantile(levels, part)) as [number, number, number];
  const isNoise = lowest > LEAST_NOISE && more - lowest < NOISE_STEADY && loud - lowest > BELOW_SOUND;
  if (!isNoise) return [];
  return [
    warning(
      'noise-floor',
      `Its pauses are noisy: they stay at ${lowest.toFixed(0)} dBFS, ${(loud - lowest).toFixed(0)} dB below its loud parts.`,
      'Gate or cut its pauses; compression will bring the noise up.',
    ),
  ];
};

/** What the spectrum of one file tells by itself. */
export const spectrumChecks = (audio: Audio): Warning[] => {
  const spectra = spectraOf(audio);
  const isThere = spectra.frames.some((frame) => frame.some((power) => power > 0));
  if (!isThere) return [];
  const hums = hum(spectra);
  // Hum is a noise floor too, and is told as what it is.
  return [...wall(spectra, audio.sampleRate), ...hums, ...(hums.length > 0 ? [] : noiseFloor(audio))];
};
