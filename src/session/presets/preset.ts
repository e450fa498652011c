import { z } from 'zod';
import { ROLES } from '../roles.ts';
import { chainSchema } from '../schema.ts';

/** What a preset is made for: a role of the band, the whole band, the mix bus, or the rough mix. */
const SUITS = [...ROLES, 'all', 'mix', 'rough'] as const;

const hertz = z.number().min(10).max(22_000);

/** A change in the figures that a preset promises; the tests of presets hold it to them. */
const claimSchema = z.discriminatedUnion('claim', [
  /** The peak comes nearer to the rms level, or moves away from it. */
  z.strictObject({ claim: z.enum(['lowers crest', 'raises crest']) }),
  /** The loudest moment comes nearer to the whole. */
  z.strictObject({ claim: z.literal('evens loudness') }),
  /** Side to mid goes up, with a mono loss below 1.5 LU; or down. */
  z.strictObject({ claim: z.enum(['widens', 'narrows']) }),
  /** Bands between two frequencies, Hz, gain or lose more level than any band outside. */
  z.strictObject({ claim: z.enum(['lifts', 'cuts']), from: hertz, to: hertz }),
  /** Of all third octaves from 2 to 8 kHz the loudest loses most, and more than any outside. */
  z.strictObject({ claim: z.literal('calms harshness') }),
  /** Below 100 Hz left and right are equal. */
  z.strictObject({ claim: z.literal('keeps lows mono') }),
  /** No true peak above it, dBTP, however loud the input. */
  z.strictObject({ claim: z.literal('keeps the ceiling'), ceilingDbtp: z.number().min(-24).max(0) }),
  /** There is sound after the input has ended. */
  z.strictObject({ claim: z.literal('adds tail') }),
  /** The output is turned down while the key input sounds. */
  z.strictObject({ claim: z.literal('ducks to its key') }),
]);

/** Peaks and bands that would rise too far make a return of the whole sound softer than it says by so much at most, LU. */
export const SENDS_WITHIN_LU = 1;

/** Output level of the chain relative to its input, at a blend of 0 dB. */
const levelSchema = z.discriminatedUnion('kind', [
  /** As loud as its input; quieter only where its peaks would rise too far. */
  z.strictObject({ kind: z.literal('levelled') }),
  /** No output gain is set: for a limiter, or ducking. */
  z.strictObject({ kind: z.literal('as it comes') }),
  /** Gives only the sound to be added (a reverb, harmonics, a sub), at this loudness relative to its input, LU. */
  z.strictObject({
    kind: z.literal('additive'),
    levelLu: z.number().min(-40).max(0),
    /** As soft as this on sound that holds little of what it adds, LU; absent: within SENDS_WITHIN_LU of `levelLu`. */
    softestLu: z.number().min(-60).max(0).optional(),
  }),
]);

/**
 * What the settings that depend on level are written for: sound that reaches their processor at this integrated loudness,
 * LUFS, or with peaks of this level, dBFS (see `peakLevelOf`). Laid on a sound, the preset is fitted to what really reaches
 * each. Without it nothing in the chain depends on level.
 */
const fitSchema = z.strictObject({
  to: z.enum(['loudness', 'peaks']),
  at: z.number().min(-60).max(0),
});

export const PRESET_VERSION = 3;

/** Default of `boostDb`, dB. */
const USUAL_BOOST_DB = 3;

/**
 * How far third octaves that carry sound (within 40 dB of the loudest) may be changed against the sound that comes in, at
 * equal loudness: by the chain itself, or by a return beside the dry sound at its loudest usual blend where only that is added.
 */
export const limitsSchema = z.strictObject({
  /** Largest rise of any third octave, dB. */
  boostDb: z.number().min(0).max(30).default(USUAL_BOOST_DB),
  /**
   * Largest change, up or down, of any third octave outside the claims, dB: for presets that are meant to be gentle.
   */
  changeDb: z.number().min(0).max(30).optional(),
  /**
   * Largest gain reduction of each compressor, dB: on average while it turns down, and at its peaks. Where the sound would get
   * more, its threshold is raised. Absent: what its settings make of the sound.
   */
  reductionDb: z.strictObject({ mean: z.number().min(0).max(30), peak: z.number().min(0).max(40) }).optional(),
});

/** Name and texts of any preset. */
export const presetWordsShape = {
  format: z.literal('tributary-preset'),
  version: z.literal(PRESET_VERSION),
  /** What it does, in two or three plain words: "drum squeeze". */
  name: z.string().min(1).max(60),
  purpose: z.string().min(1).max(300),
  listenFor: z.string().min(1).max(300),
  caution: z.string().min(1).max(300),
};

/** A chain for a bus, a group, a track or the mix bus, with its texts. */
export const presetSchema = z.strictObject({
  ...presetWordsShape,
  kind: z.literal('chain'),
  /** What it was made for; it may be tried on anything. */
  suits: z.array(z.enum(SUITS)).min(1),
  /** Where the blend of a parallel bus with this chain usually lands, dB; null where it is used in series. */
  usualBlendDb: z.tuple([z.number(), z.number()]).nullable(),
  level: levelSchema,
  fit: fitSchema.optional(),
  limits: limitsSchema.prefault({}),
  claims: z.array(claimSchema).min(1),
  chain: chainSchema.refine((items) => items.length > 0, 'at least one processor'),
});

export type PresetLimits = z.output<typeof limitsSchema>;
export type PresetFit = z.output<typeof fitSchema>;
export type Preset = z.output<typeof presetSchema>;
export type Claim = z.output<typeof claimSchema>;
export type Suits = (typeof SUITS)[number];
