import { bell, filter, highpass, lowpass } from '../filters.ts';
import type { Random } from '../random.ts';
import { randomFrom } from '../random.ts';
import type { Chord } from '../score/harmony.ts';
import { chordAt, slots } from '../score/harmony.ts';
import type { Stroke } from '../score/perform.ts';
import { perform } from '../score/perform.ts';
import type { Signal } from '../signal.ts';
import { silence } from '../signal.ts';
import { frameAt, hzOf, sampleRate, secondsAt } from '../tempo.ts';
import { burst } from './modes.ts';
import { pluckString } from './string.ts';

/** A player with an instrument and an amplifier. */
export interface Guitarist {
  readonly name: string;
  readonly patterns: readonly string[];
  readonly voicing: (chord: Chord) => readonly number[];
  readonly pickupAt: number;
  readonly pickAt: number;
  readonly edgeHz: number;
  readonly behindMs: number;
  /** Gain into the amplifier's curve. */
  readonly drive: number;
  /** Middle of the loudspeaker's presence, Hz. */
  readonly presenceHz: number;
}

interface Touch {
  readonly frame: number;
  readonly string: number;
  readonly midi: number;
  readonly velocity: number;
  readonly mute: 'open' | 'palm' | 'dead' | 'stop';
}

const openStrings = [40, 45, 50, 55, 59, 64];
const strength: Readonly<Record<string, number>> = { D: 1, d: 0.68, U: 0.85, u: 0.56, P: 0.85, p: 0.6, k: 0.62 };
const velocityOf = (letter: string): number => strength[letter] ?? 0.62;

/** Which strings a stroke meets, in the order the pick meets them. */
const stringsOf = (letter: string, sounding: readonly number[]): readonly number[] => {
  if (/[0-5]/.test(letter)) return sounding.includes(Number(letter)) ? [Number(letter)] : sounding.slice(0, 1);
  if (letter.toLowerCase() === 'p') return sounding.slice(0, 2);
  if (letter.toLowerCase() === 'u') return sounding.slice(-4).reverse();
  return sounding;
};

/** Turns one stroke into touches of single strings, spread by the travel of the pick. */
const touchesOf = (stroke: Stroke, { voicing }: Guitarist, random: Random): Touch[] => {
  const frets = voicing(chordAt(stroke.bar, stroke.step / 4));
  const sounding = frets.flatMap((fret, string) => (fret < 0 ? [] : [string]));
  if (stroke.letter === '-')
    return openStrings.map((midi, string) => ({ frame: stroke.frame, string, midi, velocity: 0, mute: 'stop' }));
  const travel = (0.007 + 0.006 * (1 - stroke.velocity) + 0.002 * random.next()) * sampleRate;
  const mute = stroke.letter === 'k' ? 'dead' : stroke.letter.toLowerCase() === 'p' ? 'palm' : 'open';
  return stringsOf(stroke.letter, sounding).map((string, order) => ({
    frame: stroke.frame + Math.round(order * travel),
    string,
    midi: openStrings[string]! + frets[string]!,
    velocity: stroke.velocity * (1 - 0.05 * order) * (1 + 0.06 * random.bell()),
    mute,
  }));
};

/** The hand lets go of every string when the chord changes. */
const changes: readonly Touch[] = slots.flatMap(({ bar, beat }) =>
  openStrings.map((midi, string) => ({
    frame: frameAt(secondsAt(bar, beat)) - frameAt(0.02),
    string,
    midi,
    velocity: 0,
    mute: 'stop' as const,
  })),
);

const tuning = (name: string): readonly number[] => {
  const random = randomFrom(`${name} tuning`);
  return openStrings.map(() => 2 ** ((1.3 * random.bell()) / 1200));
};

const playString = (out: Signal, touches: readonly Touch[], player: Guitarist, tune: number, random: Random): void =>
  touches.forEach(({ frame, midi, velocity, mute }, i) => {
    if (mute === 'stop' || frame < 0) return;
    const next = touches[i + 1];
    const until = next?.frame ?? out.length;
    const hz = hzOf(midi) * tune;
    pluckString(
      out,
      frame,
      {
        hz,
        seconds: Math.max(0.02, (until - frame) / sampleRate - 0.012),
        release: next?.mute === 'stop' ? 0.05 : 0.02,
        gain: 0.16 * velocity * (mute === 'dead' ? 0.7 : 1),
        pluckAt: player.pickAt + 0.03 * random.signed(),
        pickupAt: player.pickupAt,
        edgeHz: player.edgeHz * (0.55 + 0.6 * velocity) * (mute === 'open' ? 1 : 0.6),
        sustain: mute === 'open' ? 4.6 * (196 / hz) ** 0.5 : mute === 'palm' ? 0.42 : 0.07,
        damping: mute === 'open' ? 0.16 : 0.42,
        scrape: 0.18,
      },
      random,
    );
    burst(out, frame, { gain: 0.05 * velocity, attack: 0.0005, decay: 0.014, lowHz: 1800, highHz: 5200 }, random);
  });

/** Pre-stage, one bent curve with a little offset (even harmonics), loudspeaker in a closed box. */
const amplify = (signal: Signal, drive: number, presenceHz: number): Signal => {
  filter(signal, highpass(95), bell(650, 3, 0.7), lowpass(4800, 1.1));
  const offset = 0.18;
  const rest = Math.tanh(offset);
  for (let n = 0; n < signal.length; n++) signal[n] = Math.tanh(drive * signal[n]! + offset) - rest;
  return filter(
    signal,
    highpass(82, 0.9),
    bell(125, 2, 1),
    bell(430, -2.5, 0.9),
    bell(presenceHz, 5, 1.1),
    lowpass(5200, 0.9),
    lowpass(6800),
  );
};

/** One guitar performance through its amplifier, close microphone. */
export const playGuitar = (player: Guitarist): Signal => {
  const random = randomFrom(player.name);
  const out = silence();
  const strokes = perform(
    player.patterns,
    velocityOf,
    { scatterMs: 5, behindMs: player.behindMs, spread: 0.08 },
    random,
  );
  const touches = [...strokes.flatMap((stroke) => touchesOf(stroke, player, random)), ...changes];
  touches.sort((a, b) => a.frame - b.frame);
  const tune = tuning(player.name);
  openStrings.forEach((_, string) => {
    const own = touches.filter((touch) => touch.string === string);
    playString(out, own, player, tune[string]!, random);
  });
  return amplify(out, player.drive, player.presenceHz);
};
