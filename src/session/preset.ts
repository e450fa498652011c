import { z } from 'zod';
import { ROLES } from './roles.ts';
import { chainSchema } from './schema.ts';

/** What a preset may be laid on: a part of the band, all of it, the mix bus, or the rough mix. */
export const SUITS = [...ROLES, 'all', 'mix', 'rough'] as const;

const hertz = z.number().min(10).max(22_000);

/** A change in the figures that a preset promises; the tests of presets hold it to them. */
export const claimSchema = z.discriminatedUnion('claim', [
  /** The peak comes nearer to the rms level, or moves away from it. */
  z.strictObject({ claim: z.enum(['lowers crest', 'raises crest']) }),
  /** The loudest moment comes nearer to the whole. */
  z.strictObject({ claim: z.literal('evens loudness') }),
  /** Side to mid goes up, with a mono loss below 1.5 LU; or down. */
  z.strictObject({ claim: z.enum(['widens', 'narrows']) }),
  /** What lies between two frequencies gains, or loses, more than any band outside. */
  z.strictObject({ claim: z.enum(['lifts', 'cuts']), from: hertz, to: hertz }),
  /** Of all third octaves from 2 to 8 kHz the loudest loses most, and more than any outside. */
  z.strictObject({ claim: z.literal('calms harshness') }),
  /** Below 100 Hz both sides play the same. */
  z.strictObject({ claim: z.literal('keeps lows mono') }),
  /** No true peak above it, dBTP, however loud the input. */
  z.strictObject({ claim: z.literal('keeps the ceiling'), ceilingDbtp: z.number().min(-24).max(0) }),
  /** It sounds on after the sound has ended. */
  z.strictObject({ claim: z.literal('adds tail') }),
  /** It turns down while its key sounds. */
  z.strictObject({ claim: z.literal('ducks to its key') }),
]);

/** How loud the chain is beside what came in, at a blend of 0 dB. */
export const levelSchema = z.discriminatedUnion('kind', [
  /** Passes the whole sound, as loud as it came in; softer only where its peaks would else rise. */
  z.strictObject({ kind: z.literal('levelled') }),
  /** Its level is what its processors make of it, and no gain is set: a limiter, a part that is turned down by another. */
  z.strictObject({ kind: z.literal('as it comes') }),
  /** Holds only what is to be added: a space, air, a sub. Its loudness against the sound that it is made from, LU. */
  z.strictObject({ kind: z.literal('additive'), levelLu: z.number().min(-40).max(0) }),
]);

/**
 * What the settings that depend on level are written for: sound that reaches their processor at this integrated loudness,
 * LUFS, or with peaks of this level, dBFS (see `peakLevelOf`). Laid on a sound, the preset is fitted to what really reaches
 * each. Without it nothing in the chain depends on level.
 */
export const fitSchema = z.strictObject({
  to: z.enum(['loudness', 'peaks']),
  at: z.number().min(-60).max(0),
});

export const PRESET_VERSION = 2;

/** A preset without a word on it may raise a third octave by so much, dB. */
const USUAL_BOOST_DB = 3;

/**
 * How far third octaves that carry sound (within 40 dB of the loudest) may be changed against the sound that comes in, at
 * equal loudness: by the chain itself, or by a return beside the dry sound at its loudest usual blend where only that is added.
 */
export const limitsSchema = z.strictObject({
  /** The most that any is raised, dB. */
  boostDb: z.number().min(0).max(30).default(USUAL_BOOST_DB),
  /** The most that any is moved up or down that no claim speaks of, dB: for what is meant to be gentle. */
  changeDb: z.number().min(0).max(30).optional(),
});

/** What the user should know of any preset. */
export const presetWordsShape = {
  format: z.literal('tributary-preset'),
  version: z.literal(PRESET_VERSION),
  /** What it does, in two or three plain words: "drum squeeze". */
  name: z.string().min(1).max(60),
  purpose: z.string().min(1).max(300),
  listenFor: z.string().min(1).max(300),
  caution: z.string().min(1).max(300),
};

/** A chain that can be laid on a bus, a group, a track or the mix bus, with what its user should know. */
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

export type PresetFit = z.output<typeof fitSchema>;
export type Preset = z.output<typeof presetSchema>;
export type Claim = z.output<typeof claimSchema>;
export type Suits = (typeof SUITS)[number];
