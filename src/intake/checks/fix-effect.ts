import { framesOf, onBothSides, type Audio } from '../../audio/audio.ts';
import { placedSamples } from '../../audio/samples.ts';
import { straight } from '../../dsp/core/gain-matrix.ts';
import { Strip } from '../../dsp/core/strip.ts';
import { chainSchema } from '../../session/schema.ts';
import { stepsOf } from '../../session/values.ts';
import { eqSettings } from '../fix-bands.ts';
import { humLevel } from './hum-check.ts';
import { spectraOf } from './spectra.ts';
import type { Effect, Fix } from './warning.ts';

const BLOCK_FRAMES = 8192;

/** A sound through an EQ with these settings. */
const throughEq = (audio: Audio, settings: Readonly<Record<string, string | number | boolean>>): Audio => {
  const { sampleRate, channels } = onBothSides(audio);
  const chain = chainSchema.parse([{ processor: 'eq', settings }]);
  // No note value stands in an EQ: tempo and meter say nothing.
  const steps = stepsOf(chain, 120, [4, 4]);
  const strip = new Strip(
    { inputs: [{ gains: straight(1), delay: 0 }], keyInputs: [], steps },
    sampleRate,
    BLOCK_FRAMES,
  );
  const frames = framesOf(audio);
  const out = [new Float32Array(frames), new Float32Array(frames)] as const;
  for (let at = 0; at < frames; at += BLOCK_FRAMES) {
    const count = Math.min(BLOCK_FRAMES, frames - at);
    const block = channels.map((channel) => channel.subarray(at, at + count));
    strip.process([block], out[0].subarray(at), out[1].subarray(at), 0, count);
  }
  return { sampleRate, channels: audio.channels.length === 1 ? [out[0]] : out };
};

/** What a fix makes of a file; null where it changes no sample of it. */
const fixedSound = (audio: Audio, fix: Fix): Audio | null => {
  const [left, right] = audio.channels;
  const settings = eqSettings(fix);
  if (settings) return throughEq(audio, settings);
  if (!left || !right) return null;
  const { sampleRate } = audio;
  switch (fix.kind) {
    case 'channel polarity':
      return { sampleRate, channels: [left, right.map((value) => -value)] };
    case 'channel delay': {
      const moved = placedSamples(right, Math.round(fix.seconds * sampleRate), right.length);
      return { sampleRate, channels: [left, moved.subarray(0, right.length)] };
    }
    case 'channels':
      return fix.mode === 'left' || fix.mode === 'right'
        ? { sampleRate, channels: fix.mode === 'left' ? [left, left] : [right, right] }
        : null;
    default:
      return null;
  }
};

const decibels = (power: number): string => {
  const text = (10 * Math.log10(Math.max(1e-12, power))).toFixed(1);
  return `${text.replace('-0.0', '0.0').replace('-', '−')} dB`;
};

const meanOf = (channel: Float32Array): number => channel.reduce((sum, value) => sum + value, 0) / channel.length;

const dcOf = ({ channels }: Audio): string =>
  `${(100 * Math.max(...channels.map((channel) => Math.abs(meanOf(channel))))).toFixed(2)} %`;

/** Level of the fold of both channels beside that of channels that are the same. */
const foldOf = ({ channels: [left, right] }: Audio): string => {
  let [fold, sides] = [0, 0];
  for (let n = 0; n < left!.length; n++) {
    const [l, r] = [left![n]!, right![n]!];
    fold += (l + r) ** 2;
    sides += 2 * (l * l + r * r);
  }
  return decibels(sides > 0 ? fold / sides : 0);
};

/** The figure that a fix is for, and how it is written. */
const figureFor = (fix: Fix): readonly [name: string, of: (audio: Audio) => string] | null => {
  switch (fix.kind) {
    case 'low cut':
      return ['DC offset', dcOf];
    case 'notches':
      return ['hum', (audio) => `${humLevel(spectraOf(audio), fix.hz).toFixed(0).replace('-', '−')} dBFS`];
    case 'channel polarity':
    case 'channel delay':
    case 'channels':
      return ['mono fold against the channels', foldOf];
    default:
      return null;
  }
};

/** The figure that a fix is for, before it and behind it, measured on the file; null where it has none in the file alone. */
export const effectOf = (audio: Audio, fix: Fix | null): Effect | null => {
  const [name, of] = (fix && figureFor(fix)) ?? [];
  const fixed = fix && name && of ? fixedSound(audio, fix) : null;
  return fixed && { figure: name!, before: of!(audio), after: of!(fixed) };
};
