import { filter, highpass, lowpass } from '../filters.ts';
import type { Random } from '../random.ts';
import { randomFrom } from '../random.ts';
import { chordAt } from '../score/harmony.ts';
import { keyBars, keyFills } from '../score/key-patterns.ts';
import type { Stroke } from '../score/perform.ts';
import { perform } from '../score/perform.ts';
import type { Signal } from '../signal.ts';
import { silence } from '../signal.ts';
import { frameAt, hzOf, sampleRate, secondsAt } from '../tempo.ts';
import { ringModes } from './modes.ts';

/** One note of an electric piano by frequency modulation (Chowning 1973): the harder, the more it barks. */
const strikeKey = (
  out: Signal,
  start: number,
  midi: number,
  velocity: number,
  seconds: number,
  random: Random,
): void => {
  const hz = hzOf(midi) * (1 + 0.0003 * random.bell());
  const step = (2 * Math.PI * hz) / sampleRate;
  const release = 0.09 * sampleRate;
  const held = seconds * sampleRate;
  const end = Math.min(out.length, Math.round(start + held + release));
  const register = (midi - 60) / 12;
  const fallSlow = Math.exp(-1 / ((1.5 - 0.3 * register) * sampleRate));
  const fallFast = Math.exp(-1 / (0.22 * sampleRate));
  let bark = (0.5 + 2 * velocity ** 2) * (1 - 0.25 * register);
  let body = 0.11 * velocity;
  for (let n = start; n < end; n++) {
    const t = n - start;
    bark = 0.12 * velocity + (bark - 0.12 * velocity) * fallFast;
    body *= fallSlow;
    const gate = Math.min(1, t / 90, (end - n) / release);
    const phase = step * t;
    out[n] = out[n]! + body * gate * Math.sin(phase + bark * Math.sin(phase));
  }
  ringModes(
    out,
    start,
    [
      { hz: hz * 7.1, gain: 0.022, seconds: 0.2 },
      { hz: hz * 3.02, gain: 0.012, seconds: 0.4 },
    ],
    velocity ** 1.5,
  );
};

const velocityOf = (letter: string): number => ({ C: 0.85, c: 0.58, t: 0.6, b: 0.6 })[letter] ?? 0;

const notesOf = ({ letter, bar, step }: Stroke): readonly number[] => {
  const { keys } = chordAt(bar, step / 4);
  if (letter === 't') return keys.slice(-2);
  if (letter === 'b') return keys.slice(0, 1);
  return letter === '-' ? [] : keys;
};

/** Electric piano, one channel: chords rolled a little, melody answers, slow tremolo of the instrument itself. */
export const playKeys = (): Signal => {
  const random = randomFrom('keys');
  const out = silence();
  const strokes = perform(keyBars, velocityOf, { scatterMs: 5, behindMs: 4, spread: 0.06 }, random);
  strokes.forEach((stroke, i) => {
    const held = Math.min(2.4, ((strokes[i + 1]?.frame ?? out.length) - stroke.frame) / sampleRate) * 0.93;
    notesOf(stroke).forEach((midi, order) => {
      const late = frameAt(order * (0.003 + 0.003 * random.next()));
      strikeKey(out, stroke.frame + late, midi, stroke.velocity * (0.92 + 0.08 * order), held, random);
    });
  });
  for (const { bar, beat, beats, midi, velocity } of keyFills) {
    const from = secondsAt(bar, beat);
    strikeKey(
      out,
      frameAt(from + 0.006 + 0.005 * random.next()),
      midi,
      velocity,
      secondsAt(bar, beat + beats) - from,
      random,
    );
  }
  for (let n = 0; n < out.length; n++) out[n] = out[n]! * (1 + 0.14 * Math.sin((2 * Math.PI * 4.4 * n) / sampleRate));
  return filter(out, highpass(70), lowpass(7000));
};
