import { onBothSides, type Audio, type Sound } from '../../audio/audio.ts';
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

/** Sound piece by piece, in order; a piece holds until the next. */
type Pieces = Iterable<readonly Float32Array[]>;

function* piecesOf({ channels }: Sound): Generator<readonly Float32Array[]> {
  const length = channels[0]!.length;
  for (let at = 0; at < length; at += BLOCK_FRAMES)
    yield channels.map((channel) => channel.subarray(at, Math.min(length, at + BLOCK_FRAMES)));
}

/** A sound through an EQ with these settings. */
function* throughEq(audio: Audio, settings: Readonly<Record<string, string | number | boolean>>): Pieces {
  const { sampleRate, channels } = onBothSides(audio);
  const chain = chainSchema.parse([{ processor: 'eq', settings }]);
  // No note value stands in an EQ: tempo and meter say nothing.
  const steps = stepsOf(chain, 120, [4, 4]);
  const strip = new Strip(
    { inputs: [{ gains: straight(1), delay: 0 }], keyInputs: [], steps },
    sampleRate,
    BLOCK_FRAMES,
  );
  const out = [new Float32Array(BLOCK_FRAMES), new Float32Array(BLOCK_FRAMES)] as const;
  for (const piece of piecesOf({ sampleRate, channels })) {
    const count = piece[0]!.length;
    strip.process([piece], out[0], out[1], 0, count);
    yield out.slice(0, audio.channels.length).map((channel) => channel.subarray(0, count));
  }
}

/** What a fix makes of a file; null where it changes no sample of it. */
const fixedSound = (audio: Audio, fix: Fix): Pieces | null => {
  const [left, right] = audio.channels;
  const settings = eqSettings(fix);
  if (settings) return throughEq(audio, settings);
  if (!left || !right) return null;
  const { sampleRate } = audio;
  switch (fix.kind) {
    case 'channel polarity':
      return turnedRight(audio);
    case 'channel delay': {
      const late = placedSamples(right, Math.round(fix.seconds * sampleRate), right.length);
      return piecesOf({ sampleRate, channels: [left, late] });
    }
    case 'channels':
      return fix.mode === 'left' || fix.mode === 'right'
        ? piecesOf({ sampleRate, channels: fix.mode === 'left' ? [left, left] : [right, right] })
        : null;
    default:
      return null;
  }
};

function* turnedRight(audio: Audio): Pieces {
  for (const [left, right] of piecesOf(audio)) yield [left!, right!.map((value) => -value)];
}

const decibels = (power: number): string => {
  const text = (10 * Math.log10(Math.max(1e-12, power))).toFixed(1);
  return `${text.replace('-0.0', '0.0').replace('-', '−')} dB`;
};

const dcOf = (pieces: Pieces): string => {
  const sums = [0, 0];
  let frames = 0;
  for (const piece of pieces) {
    piece.forEach((channel, c) => (sums[c]! += channel.reduce((sum, value) => sum + value, 0)));
    frames += piece[0]!.length;
  }
  return `${((100 * Math.max(...sums.map(Math.abs))) / frames).toFixed(2)} %`;
};

/** Level of the fold of both channels beside that of channels that are the same. */
const foldOf = (pieces: Pieces): string => {
  let [fold, sides] = [0, 0];
  for (const [left, right] of pieces) {
    for (let n = 0; n < left!.length; n++) {
      const [l, r] = [left![n]!, right![n]!];
      fold += (l + r) ** 2;
      sides += 2 * (l * l + r * r);
    }
  }
  return decibels(sides > 0 ? fold / sides : 0);
};

/** Level of hum, dBFS: spectra are taken of frames that overlap, so all pieces are joined. */
const humOf = (pieces: Pieces, like: Audio, hz: readonly number[]): string => {
  const channels = like.channels.map(({ length }) => new Float32Array(length));
  let at = 0;
  for (const piece of pieces) {
    channels.forEach((channel, c) => channel.set(piece[c]!, at));
    at += piece[0]!.length;
  }
  return `${humLevel(spectraOf({ ...like, channels }), hz)
    .toFixed(0)
    .replace('-', '−')} dBFS`;
};

/** The figure that a fix of a file is for, and how it is written. */
const figureFor = (fix: Fix, audio: Audio): readonly [name: string, of: (pieces: Pieces) => string] | null => {
  switch (fix.kind) {
    case 'low cut':
      return ['DC offset', dcOf];
    case 'notches':
      return ['hum', (pieces) => humOf(pieces, audio, fix.hz)];
    case 'channel polarity':
    case 'channel delay':
    case 'channels':
      return ['mono fold against the channels', foldOf];
    default:
      return null;
  }
};

/** The figure that a fix is for, before it and after it, measured on the file; null where it has none in the file alone. */
export const effectOf = (audio: Audio, fix: Fix | null): Effect | null => {
  const [name, of] = (fix && figureFor(fix, audio)) ?? [];
  const fixed = fix && name && of ? fixedSound(audio, fix) : null;
  return fixed && { figure: name!, before: of!(piecesOf(audio)), after: of!(fixed) };
};
