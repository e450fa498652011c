import type { Audio } from '../../audio/audio.ts';
import { median, quantile } from '../rough/median.ts';
import { hasHoles } from './codec-holes.ts';
import type { Spectra } from './spectra.ts';
import { warning, type Warning } from './warning.ts';

// Limits in this file are common practice, set so that ordinary tracks raise nothing.

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
 * Whether sound fills the spectrum up to this frequency all the time, as after a filter: harmonics that end somewhere do
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

/** Lower walls than this are those of a narrow microphone or line too, unless a codec's own sign stands below them, Hz. */
const SURE_WALL = 15_700;

/** Converters from 32 kHz pass all up to about here, Hz. */
const FROM_32 = 14_700;

/** Where the spectrum ends like a wall: converted from a lower rate, or decoded from a lossy format. */
export const wallCheck = (audio: Audio, spectra: Spectra): Warning[] => {
  const { sampleRate } = audio;
  const hz = wallOf(spectra, sampleRate);
  if (hz === null) return [];
  const khz = (hz / 1000).toFixed(1);
  const half = HALF_RATES.find((each) => each < 0.49 * sampleRate && hz > 0.88 * each && hz < 1.01 * each);
  // MP3 at usual rates ends about 16 kHz too: only a wall where a converter from 32 kHz has it, and no codec's sign, is one.
  const isFrom32 = half === 16_000 && hz > FROM_32 && hz < SURE_WALL && !hasHoles(audio, hz);
  if (isFrom32 || (half !== undefined && half !== 16_000)) {
    const from = (2 * half) / 1000;
    return [
      warning(
        'up-sampled',
        `Its spectrum ends like a wall at ${khz} kHz: it was converted up from about ${from} kHz, or decoded from a lossy format.`,
        'Ask for the track at its first rate, without conversions.',
      ),
    ];
  }
  if (hz < SURE_WALL && !hasHoles(audio, hz)) return [];
  return [
    warning(
      'lossy',
      `Its spectrum ends like a wall at ${khz} kHz, as MP3 and the like leave it: it was probably decoded from a lossy format.`,
      'Ask for the track as WAV, AIFF or FLAC from the session.',
    ),
  ];
};
