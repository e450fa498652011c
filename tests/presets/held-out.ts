import type { Audio } from '../../src/audio/audio.ts';
import { valuesFrom, type Settings } from '../../src/dsp/core/parameter.ts';
import { processorOf } from '../../src/dsp/core/registry.ts';
import { heardLoudness } from '../../src/measure/heard.ts';
import { renderChain } from '../../src/render/chain-render.ts';
import { gainTo, raised } from '../../src/render/fit/match-make-up.ts';
import type { Suits } from '../../src/session/presets/preset.ts';
import { seeded } from '../helpers/signals.ts';
import { seedOf } from '../helpers/soak.ts';
import { sumOf } from './sums.ts';

/**
 * Parts made from their description alone, unlike those of the demo song that presets were written on: what a preset says must
 * hold on these too. Each round of soaking makes others.
 */
/** So much higher all is played in each round of soaking. */
const UP = 2 ** ((seedOf(0) % 7) / 12);
const RATE = 48_000;
const SECONDS = 2;
const FRAMES = SECONDS * RATE;
/** How stems are often delivered: as loud as this, LUFS, with peaks at this, dBTP. */
const DELIVERED = { lufs: -14, dbtp: -1 } as const;

/** A sound of one channel at time t, s; it is asked for frame by frame. */
type Tone = (t: number, frame: number) => number;

const step = (processor: string, settings: Settings) => ({
  processor,
  values: valuesFrom(processorOf(processor).parameters, settings),
});

const stereo = (left: Float32Array, right = left): Audio => ({ sampleRate: RATE, channels: [left, right] });

const made = (tone: Tone): Float32Array => Float32Array.from({ length: FRAMES }, (_, n) => tone(n / RATE, n));

const noiseOf = (seed: number): (() => number) => {
  const random = seeded(seedOf(seed));
  return () => random() + random() + random() - 1.5;
};

/** Harmonics of a note with a level each, as far as 15 kHz, with seeded phases. */
const harmonics = (hz: number, levelOf: (order: number) => number, seed: number): Tone => {
  const random = seeded(seedOf(seed));
  const count = Math.floor(15_000 / hz);
  const [inPhase, across] = [new Float64Array(count), new Float64Array(count)];
  for (let n = 0; n < count; n++) {
    const [level, phase] = [levelOf(n + 1), 2 * Math.PI * random()];
    inPhase[n] = level * Math.cos(phase);
    across[n] = level * Math.sin(phase);
  }
  return (t) => {
    // Sine and cosine of each multiple, by the sum formulas from the one before: much quicker than asking for all.
    const [sine, cosine] = [Math.sin(2 * Math.PI * hz * t), Math.cos(2 * Math.PI * hz * t)];
    let [s, c, sum] = [sine, cosine, 0];
    for (let n = 0; n < count; n++) {
      sum += inPhase[n]! * s + across[n]! * c;
      [s, c] = [s * cosine + c * sine, c * cosine - s * sine];
    }
    return sum;
  };
};

/** A plucked string: a burst of noise in a loop of one period that loses its highs (Karplus and Strong 1983). */
const plucked = (into: Float32Array, at: number, hz: number, seed: number, level: number): void => {
  const noise = noiseOf(seed);
  const period = Math.round(RATE / (hz * UP));
  const string = Float32Array.from({ length: period }, noise);
  for (let n = 0; n < period; n++) string[n] = 0.5 * (string[n]! + string[(n + 1) % period]!);
  for (let n = Math.round(at * RATE), i = 0; n < into.length; n++, i = (i + 1) % period) {
    into[n]! += level * string[i]!;
    string[i] = 0.498 * (string[i]! + string[(i + 1) % period]!);
  }
};

/** Strummed chords, clean, a little wider than one loudspeaker. */
const guitar = (): Audio => {
  const sides = [new Float32Array(FRAMES), new Float32Array(FRAMES)] as const;
  const chord = [110, 164.8, 220, 277.2, 329.6];
  for (let stroke = 0; stroke < 6; stroke++)
    chord.forEach((hz, n) =>
      sides.forEach((side, s) =>
        plucked(side, stroke * 0.5 + 0.012 * n, hz * 1.12 ** (stroke % 3), 10 * stroke + n, (n + s) % 2 ? 0.5 : 0.8),
      ),
    );
  return stereo(...sides);
};

/** Peaks of the mouth: middle, Hz, and width, Hz. */
const MOUTH = [
  [650, 90],
  [1150, 110],
  [2600, 170],
  [3400, 250],
] as const;
const mouth = (hz: number): number =>
  MOUTH.reduce((sum, [at, width]) => sum + 1 / (1 + ((hz - at) / width) ** 2), 0.02);

/** Sung syllables of different loudness, with a vibrato. */
const vowels = (hz: number, seed: number): Float32Array => {
  const notes = [1, 1.122, 1.26, 1.122, 0.944, 1].map((ratio, n) =>
    harmonics(UP * hz * ratio, (order) => mouth(order * UP * hz * ratio) / order, seed + n),
  );
  return made((t) => {
    const within = (t % 0.5) / 0.5;
    const rise = Math.min(1, within / 0.08) * Math.min(1, Math.max(0, (0.86 - within) / 0.1));
    const syllable = Math.floor(t / 0.5);
    const swung = t + 0.0004 * Math.sin(2 * Math.PI * 5.3 * t);
    return rise <= 0 ? 0 : rise * (0.6 + 0.4 * ((syllable * 2) % 3)) * notes[syllable % 6]!(swung, 0);
  });
};

/** An ess at the end of each syllable. */
const esses = (): Float32Array => {
  const noise = noiseOf(77);
  const bursts = made((t) => {
    const within = (t % 0.5) - 0.43;
    return within > 0 && within < 0.06 ? Math.sin((Math.PI * within) / 0.06) * noise() : 0;
  });
  const shaped = [
    step('eq', { 'band1.on': true, 'band1.shape': 'low cut', 'band1.frequency': 5000, 'band1.slope': '24 dB/oct' }),
    step('eq', { 'band8.on': true, 'band8.shape': 'high cut', 'band8.frequency': 10_000, 'band8.slope': '12 dB/oct' }),
  ];
  return renderChain(stereo(bursts), shaped, null).channels[0]!;
};

const choir = (): Audio => {
  const [a, b, c] = [vowels(220, 5), vowels(277, 6), vowels(331, 7)] as const;
  return stereo(
    a.map((x, n) => x + 0.8 * b[n]! + 0.3 * c[n]!),
    a.map((x, n) => x + 0.3 * b[n]! + 0.8 * c[n]!),
  );
};

/** Eighths on the low strings, from E up (41.2 Hz), played with a pick. */
const pickedBass = (): Float32Array => {
  const out = new Float32Array(FRAMES);
  [41.2, 41.2, 55, 61.7, 49, 41.2, 73.4, 55, 41.2, 49].forEach((hz, n) => plucked(out, 0.3 * n, hz, 30 + n, 1));
  const dark = step('eq', { 'band8.on': true, 'band8.shape': 'high cut', 'band8.frequency': 2500 });
  return renderChain(stereo(out), [dark], null).channels[0]!;
};

/** Long notes of a sine with a trace of its third harmonic. */
const subBass = (): Float32Array =>
  made((t) => {
    const hz = UP * [41.2, 55, 49][Math.floor(t) % 3]!;
    const within = t % 1;
    const phase = 2 * Math.PI * hz * within;
    return Math.min(1, within / 0.01, (1 - within) / 0.05) * (Math.sin(phase) + 0.03 * Math.sin(3 * phase));
  });

/** Strokes at beats (of half a second), each of a level. */
const strokes = (beats: readonly (readonly [beat: number, level: number])[], stroke: Tone): Float32Array => {
  const out = new Float32Array(FRAMES);
  for (const [beat, level] of beats) {
    const from = Math.round(beat * 0.5 * RATE);
    const to = Math.min(FRAMES, from + RATE);
    for (let n = from; n < to; n++) out[n]! += level * stroke((n - from) / RATE, n - from);
  }
  return out;
};

const drumNoise = noiseOf(3);
const kick = (): Float32Array =>
  strokes(
    [0, 1.5, 2, 4, 4.75].map((beat) => [beat, 1]),
    (t) => {
      const phase = 2 * Math.PI * UP * (48 * t + (110 / 28) * (1 - Math.exp(-28 * t)));
      return Math.exp(-9 * t) * Math.sin(phase) + 0.25 * Math.exp(-900 * t) * drumNoise();
    },
  );
const snare = (): Float32Array =>
  strokes(
    [
      [1, 1],
      [2.75, 0.25],
      [3, 0.9],
      [5, 1],
    ],
    (t) => Math.exp(-18 * t) * 0.7 * Math.sin(2 * Math.PI * 196 * UP * t) + Math.exp(-24 * t) * 0.6 * drumNoise(),
  );
const toms = (): Float32Array =>
  strokes(
    [
      [0, 1],
      [1, 0.8],
      [1.5, 0.9],
      [3, 1],
      [3.5, 0.7],
      [4.5, 1],
    ],
    (t) =>
      Math.exp(-8 * t) * Math.sin(2 * Math.PI * UP * (95 * t + 1.5 * (1 - Math.exp(-20 * t)))) +
      0.2 * Math.exp(-300 * t) * drumNoise(),
  );
const cymbals = (): Float32Array => {
  const beats = Array.from({ length: 12 }, (_, n): [number, number] => [n / 2, n % 8 === 0 ? 1 : 0.35]);
  const metal = strokes(beats, (t) => Math.exp(-7 * t) * drumNoise());
  const high = step('eq', {
    'band1.on': true,
    'band1.shape': 'low cut',
    'band1.frequency': 3500,
    'band1.slope': '24 dB/oct',
  });
  return renderChain(stereo(metal), [high], null).channels[0]!;
};
const drums = (): Audio => {
  const [k, s, c] = [kick(), snare(), cymbals()];
  const side = (pan: number): Float32Array => k.map((x, n) => x + 0.8 * s[n]! + 0.4 * pan * c[n]!);
  return stereo(side(0.7), side(1));
};

/** Slow chords of detuned strings, unlike on both sides. */
const pad = (): Audio => {
  const side = (seed: number): Float32Array => {
    const voices = [130.8, 196, 261.6, 329.6].map((hz, n) =>
      harmonics(UP * hz * (1 + 0.002 * (seed - 1.5)), (order) => 1 / order ** 1.6, 100 * seed + n),
    );
    return made((t) => (0.7 + 0.3 * Math.sin(2 * Math.PI * 0.4 * t)) * voices.reduce((sum, v) => sum + v(t, 0), 0));
  };
  return stereo(side(1), side(2));
};

/** At a loudness, LUFS. */
export const atLoudness = (sound: Audio, lufs: number): Audio => raised(sound, gainTo(sound, lufs, heardLoudness)!);

/** At the loudness and with the peaks of what is delivered: a limiter takes what stands higher. */
const delivered = (sound: Audio): Audio => {
  const limit = step('limiter', { ceiling: DELIVERED.dbtp - 0.02, lookAhead: 4, release: 60 });
  let out = atLoudness(sound, DELIVERED.lufs);
  // Limiting takes loudness away: some rounds of both settle within 0.1 dB.
  for (let round = 0; round < 4; round++) out = atLoudness(renderChain(out, [limit], null), DELIVERED.lufs);
  return renderChain(out, [limit], null);
};

/** Computed once, when it is first asked for. */
const once = <T>(make: () => T): (() => T) => {
  let value: T | undefined;
  return () => (value ??= make());
};

const mono = (make: () => Float32Array) => (): Audio => stereo(make());
const voiceWithoutEsses = (): Float32Array => vowels(196, 1);
const voiceWithEsses = (): Float32Array => {
  const sibilants = esses();
  return voiceWithoutEsses().map((x, n) => x + 0.9 * sibilants[n]!);
};
/** Soft esses in the gaps of what is sung: a compressor that holds the vowels down lets them by. */
const SOFT_ESSES_DB = -26;
const withSoftEsses = (sung: Audio): Audio => sumOf(sung, stereo(esses()), SOFT_ESSES_DB);
const mix = (): Audio =>
  (
    [
      [HELD_OUT.guitar, -5],
      [HELD_OUT.voice, 0],
      [HELD_OUT['picked bass'], -2],
      [HELD_OUT.drums, 0],
      [HELD_OUT.pad, -7],
    ] as const
  ).reduce((sum, [part, db]) => sumOf(sum, part(), db), HELD_OUT.choir());

/** The parts by name, as they are delivered. */
export const HELD_OUT = {
  guitar: once(() => delivered(guitar())),
  voice: once(() => delivered(stereo(voiceWithEsses()))),
  'voice without esses': once(() => delivered(stereo(voiceWithoutEsses()))),
  'voice with soft esses': once((): Audio => delivered(withSoftEsses(HELD_OUT['voice without esses']()))),
  choir: once(() => delivered(choir())),
  'choir with soft esses': once((): Audio => delivered(withSoftEsses(HELD_OUT.choir()))),
  'picked bass': once(() => delivered(mono(pickedBass)())),
  'sub bass': once(() => delivered(mono(subBass)())),
  kick: once(() => delivered(mono(kick)())),
  snare: once(() => delivered(mono(snare)())),
  toms: once(() => delivered(mono(toms)())),
  cymbals: once(() => delivered(mono(cymbals)())),
  drums: once(() => delivered(drums())),
  pad: once(() => delivered(pad())),
  mix: once((): Audio => delivered(mix())),
} satisfies Record<string, () => Audio>;

export type HeldOut = keyof typeof HELD_OUT;

/** Which of them a preset that suits a part is tried on. */
const SUITED: Readonly<Record<Suits, readonly HeldOut[]>> = {
  drums: ['drums'],
  kick: ['kick'],
  snare: ['snare'],
  toms: ['toms'],
  cymbals: ['cymbals'],
  percussion: ['drums'],
  bass: ['picked bass', 'sub bass'],
  guitars: ['guitar'],
  keys: ['pad'],
  'lead vocal': ['voice', 'voice without esses'],
  'backing vocal': ['choir'],
  all: ['mix', 'drums', 'guitar'],
  mix: ['mix'],
  rough: ['mix'],
};

/** The parts that a preset is tried on. */
export const heldOutFor = (suits: readonly Suits[]): HeldOut[] => [...new Set(suits.flatMap((part) => SUITED[part]))];
