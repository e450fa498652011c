import { filter, highpass, highShelf, lowpass } from '../filters.ts';
import type { Random } from '../random.ts';
import type { Signal } from '../signal.ts';
import { silence } from '../signal.ts';
import { sampleRate } from '../tempo.ts';
import type { Controls } from './singing.ts';
import { controlFrames } from './singing.ts';

/** A singer's body. */
export interface Throat {
  /** All resonances scaled: below 1 is a longer vocal tract. */
  readonly scale: number;
  /** Share of the cycle in which the folds are open: more is softer. */
  readonly openShare: number;
  /** Corner of the source's treble when singing softly and fully, Hz. */
  readonly softHz: number;
  readonly fullHz: number;
  readonly breathiness: number;
}

/** Resonances above the three that make the vowel: middle and bandwidth, Hz. */
const upper = [
  [3900, 220],
  [4900, 300],
  [6100, 480],
  [7900, 800],
  [9900, 1200],
  [12300, 1700],
] as const;
const poles = 3 + upper.length;

/** Two-pole resonators in a row, each with gain 1 at 0 Hz (Klatt 1980). */
interface Tract {
  readonly b: Float64Array;
  readonly c: Float64Array;
  readonly y1: Float64Array;
  readonly y2: Float64Array;
}

const shape = ({ b, c }: Tract, i: number, hz: number, width: number): void => {
  const radius = Math.exp((-Math.PI * width) / sampleRate);
  b[i] = 2 * radius * Math.cos((2 * Math.PI * hz) / sampleRate);
  c[i] = -radius * radius;
};

/** Sets the tract for one control step. A high note pulls the first resonance up with it, as singers do. */
const shapeTract = (tract: Tract, controls: Controls, step: number, scale: number): void => {
  const floor = 1.2 * controls.hz[step]!;
  const f1 = Math.max(floor, controls.formants[0][step]! * scale);
  const f2 = Math.max(f1 + 180, controls.formants[1][step]! * scale);
  const f3 = Math.max(f2 + 250, controls.formants[2][step]! * scale);
  shape(tract, 0, f1, 75 + 0.06 * f1 + 0.16 * Math.max(0, floor - 420));
  shape(tract, 1, f2, 70 + 0.035 * f2);
  shape(tract, 2, f3, 110 + 0.03 * f3);
};

const through = ({ b, c, y1, y2 }: Tract, input: number): number => {
  let x = input;
  for (let i = 0; i < poles; i++) {
    const y = (1 - b[i]! - c[i]!) * x + b[i]! * y1[i]! + c[i]! * y2[i]!;
    y2[i] = y1[i]!;
    y1[i] = y;
    x = y;
  }
  return x;
};

/** Derivative of the airflow in one cycle (pulse of Klatt and Klatt 1990), its closing step rounded over two samples. */
const airflow = (phase: number, step: number, open: number): number => {
  const x = phase / open;
  const flow = phase < open ? x * (2 - 3 * x) : 0;
  const late = (phase - open) / step;
  if (late >= 0 && late < 1) return flow - 0.5 * (1 - late) ** 2;
  if (late < 0 && late > -1) return flow + 0.5 * (1 + late) ** 2;
  return flow;
};

/** Sings the control curves: pulses and breath through the resonances, hiss of the consonants beside them. */
export const voiceOf = (controls: Controls, throat: Throat, random: Random): Signal => {
  const out = silence();
  const zeros = (): Float64Array => new Float64Array(poles);
  const tract: Tract = { b: zeros(), c: zeros(), y1: zeros(), y2: zeros() };
  upper.forEach(([hz, width], i) => shape(tract, 3 + i, hz * throat.scale, width));
  let phase = 0;
  let tilt = 0;
  let hissLow = 0;
  let hissBand = 0;
  let hissG = 0;
  let treble = 0;
  let lastNoise = 0;
  for (let n = 0; n < out.length; n++) {
    const step = Math.floor(n / controlFrames);
    const x = (n % controlFrames) / controlFrames;
    const voice = controls.voice[step]! * (1 - x) + controls.voice[step + 1]! * x;
    const breath = controls.breath[step]! * (1 - x) + controls.breath[step + 1]! * x;
    const hiss = controls.hiss[step]! * (1 - x) + controls.hiss[step + 1]! * x;
    if (x === 0) {
      shapeTract(tract, controls, step, throat.scale);
      hissG = 2 * Math.sin((Math.PI * controls.hissHz[step]!) / sampleRate);
      treble = 1 - Math.exp((-2 * Math.PI * (throat.softHz + (throat.fullHz - throat.softHz) * voice)) / sampleRate);
    }
    const turn = (controls.hz[step]! * (1 - x) + controls.hz[step + 1]! * x) / sampleRate;
    phase += turn;
    if (phase >= 1) phase -= 1;
    tilt += treble * (airflow(phase, turn, throat.openShare) - tilt);
    const noise = random.signed();
    const air = noise * (breath + throat.breathiness * voice * (phase < throat.openShare ? 1 : 0.35));
    hissLow += hissG * hissBand;
    hissBand += hissG * (noise - hissLow - 0.7 * hissBand);
    out[n] =
      through(tract, voice * tilt + 0.16 * air) +
      1.3 * hiss * hissBand +
      0.03 * throat.breathiness * voice * (noise - lastNoise);
    lastNoise = noise;
  }
  return filter(out, highpass(95), highShelf(3900, 9), lowpass(13000));
};
