import { z } from 'zod';
import { CLOSED_DB } from '../dsp/core/fader-gain.ts';
import { CHANNEL_MODES, POLARITIES } from '../dsp/core/channel-mode.ts';
import { PAN_LAWS } from '../dsp/core/pan.ts';
import { file, id, processorItemSchema, splitItemSchema } from './chain/chain-item-schema.ts';
import { withItemIds } from './ids.ts';
import { linePointSchema, lineSchema } from './lines/line-schema.ts';

export { CLOSED_DB, processorItemSchema, splitItemSchema };
export type { ChainItem, ChainItems, ProcessorItem, SplitItem } from './chain/chain-item-schema.ts';

/** The highest fader, blend or send, dB. */
export const LOUDEST_DB = 24;

/** Number of path colours in the palette. */
export const HUES = 18;

const name = z.string().min(1).max(80);
/** Colour of the path, a number of the palette, which never changes; given on opening if absent (`hues.ts`). */
const hue = z.number().int().min(1).max(HUES).optional();
const decibels = z.number().min(CLOSED_DB).max(LOUDEST_DB);
const unnamedProcessor = processorItemSchema.extend({ id: id.optional() });
const unnamedSplit = splitItemSchema.extend({ id: id.optional(), split: z.array(unnamedProcessor).min(1).max(16) });

/** A chain as files write it; items without an id get one. */
export const chainSchema = z
  .array(z.union([unnamedProcessor, unnamedSplit]))
  .max(32)
  .transform(withItemIds);
const chain = chainSchema.default([]);

/** A send to a bus: level in dB, pre-fader or post-fader. */
export const sendSchema = z.strictObject({
  to: id,
  levelDb: decibels.default(0),
  tap: z.enum(['pre-fader', 'post-fader']).default('post-fader'),
  on: z.boolean().default(true),
});
export const sendsSchema = z.array(sendSchema).max(32);
const sends = sendsSchema.default([]);

/** Key input: track, group or bus that the chain’s key-listening processors follow. */
const key = id.nullable().default(null);

/** A day: no file begins further from the song's beginning. What silence may lie before it depends on the others, see `render/silence-before.ts`. */
export const FARTHEST_OFFSET_SECONDS = 86_400;

/** The channels of one file are parts of one performance: no further apart than this. */
export const FARTHEST_APART_SECONDS = 1;

export const trackSchema = z.strictObject({
  id,
  name,
  file,
  group: id,
  on: z.boolean().default(true),
  /** The track's fader. It stands before the chain, the pan after it. */
  gainDb: decibels.default(0),
  /** -1 left .. +1 right; 0 changes nothing. */
  pan: z.number().min(-1).max(1).default(0),
  channels: z.enum(CHANNEL_MODES).default('stereo'),
  polarity: z.enum(POLARITIES).default('normal'),
  /** Where the file starts in the song; negative starts inside the file. */
  offsetSeconds: z.number().min(-FARTHEST_OFFSET_SECONDS).max(FARTHEST_OFFSET_SECONDS).default(0),
  /** Where the right channel of the file starts against its left one; negative: earlier. Of a file of one channel it says nothing. */
  rightOffsetSeconds: z.number().min(-FARTHEST_APART_SECONDS).max(FARTHEST_APART_SECONDS).optional(),
  chain,
  key,
  /** Post-fader: what the track gives to its group. Pre-fader: with the level at 0 dB and the pan in the middle. */
  sends,
});

/** What groups and buses have in common. */
const strip = {
  id,
  name,
  hue,
  on: z.boolean().default(true),
  chain,
  key,
};

export const groupSchema = z.strictObject({
  ...strip,
  /** Sung or spoken: left out of an instrumental print, and alone in the a cappella print. */
  vocal: z.boolean().default(false),
  faderDb: decibels.default(0),
  sends,
  /** Heard in place too while something else is soloed. */
  soloSafe: z.boolean().default(false),
});

export const busSchema = z.strictObject({
  ...strip,
  blendDb: decibels.default(0),
  sends,
  /** As with groups; on unless said otherwise, as effect returns are (common practice): what is soloed keeps its effects. */
  soloSafe: z.boolean().default(true),
});

/** Beats in a bar, and the note that is a beat. */
const meter = z.tuple([z.number().int().min(1).max(32), z.literal([1, 2, 4, 8, 16])]);

export const sectionSchema = z.strictObject({
  name,
  startSeconds: z.number().min(0).max(86_400),
  endSeconds: z.number().min(0).max(86_400),
});

/** A place of the song to come back to. */
export const markerSchema = z.strictObject({ name, seconds: z.number().min(0).max(86_400) });

/** Where a track stood in the song as it was received: level in dB and pan, as those of a track. */
const receivedPlaceSchema = z.strictObject({
  track: id,
  gainDb: decibels.default(0),
  pan: z.number().min(-1).max(1).default(0),
  /** Where the level moves over the song: the points of a line of level, in seconds, which then stands in for `gainDb`. */
  points: z.array(linePointSchema).min(1).max(20_000).optional(),
});
export const receivedBalanceSchema = z.array(receivedPlaceSchema).max(512);

const tracks = z.array(trackSchema).max(256);
const groups = z.array(groupSchema).max(32);
const buses = z.array(busSchema).max(32).default([]);
const mixBus = z
  .strictObject({ trimDb: z.number().min(-60).max(24).default(0), chain })
  .default({ trimDb: 0, chain: [] });
/** What the rough does as a source: it runs through a chain of its own and feeds buses; it is never in the mix directly. */
const roughSource = z.strictObject({ chain, sends });
const lines = z.array(lineSchema).max(400).default([]);

/** Limits that the mix must keep against the rough and the mix as received; what each means stands in `guards.ts`. */
export const GUARDS = [
  'true-peak ceiling',
  'LRA loss',
  'minimum PLR',
  'mono loss',
  'lows correlation',
  'tonal shift',
  'balance drift',
  'width change',
] as const;

export const guardSchema = z.strictObject({
  guard: z.enum(GUARDS),
  /** In the guard's own unit. */
  limit: z.number().min(-60).max(60),
  on: z.boolean().default(true),
});

/** A saved version of the mix: all that a render depends on, beside song and files. */
export const passSchema = z.strictObject({
  id,
  name,
  note: z.string().max(2000).default(''),
  tracks,
  groups,
  buses,
  mixBus,
  rough: roughSource.nullable().default(null),
  lines,
});

/** What can be listened to: the rough, the mix as received, the current mix, a pass, or the mix without one path. */
const side = z.string().regex(/^(rough|received|mix|pass:[a-z0-9-]+|without:[a-z0-9-]+)$/, 'a side of a comparison');

/** A blind trial: what was compared, how many presentations were fixed beforehand, and every answer given. */
export const trialSchema = z.strictObject({
  id,
  kind: z.enum(['abx', 'preference']),
  a: side,
  b: side,
  /** Name of the section it was held over; null: the whole song. */
  section: name.nullable().default(null),
  planned: z.number().int().min(1).max(200),
  /** Seeds the hidden order, so that a trial can be checked afterwards. */
  seed: z.number().int().min(0).max(0xffffffff),
  /** For each presentation so far: ABX, whether the answer was right; preference, which side was preferred. */
  answers: z.array(z.enum(['right', 'wrong', 'a', 'b'])).max(200),
});

/** What the client asks for in a revision, and whether it was answered. */
export const clientNoteSchema = z.strictObject({
  id,
  text: z.string().min(1).max(2000),
  /** Where in the song it is about, s; null: the whole song. */
  startSeconds: z.number().min(0).max(86_400).nullable().default(null),
  endSeconds: z.number().min(0).max(86_400).nullable().default(null),
  /** null: still open. */
  done: z
    .strictObject({
      /** The pass that answers it; null: the mix as it stands. Saving a pass puts that pass in its place. */
      pass: id.nullable().default(null),
      answer: z.string().max(2000).default(''),
    })
    .nullable()
    .default(null),
});

export const SESSION_FORMAT = 'tributary-session';
export const SESSION_VERSION = 4;

/** The shape of a session file, version 4; older ones are brought to it (`migrations/`). What a shape cannot say (targets, cycles, parameters) stands in `check.ts`. */
export const sessionSchema = z.strictObject({
  format: z.literal(SESSION_FORMAT),
  version: z.literal(SESSION_VERSION),
  title: name,
  artist: z.string().max(80).default(''),
  notes: z.string().max(20_000).default(''),
  /** Rate at which the session is rendered, Hz; files at other rates are converted. */
  sampleRate: z.number().int().min(8_000).max(192_000),
  /** Quarter notes a minute, whatever the meter. */
  tempo: z.number().min(20).max(400).default(120),
  /** Beats in a bar, and the note that is a beat. */
  meter: meter.default([4, 4]),
  /** How tracks are panned, and their sends after the fader: `dsp/core/pan.ts`. */
  /** Other tempi from a bar on (1 is the first), in order: at once, or reached there in a ramp from the change before. */
  tempoChanges: z
    .array(
      z.strictObject({
        bar: z.number().min(1).max(100_000),
        tempo: z.number().min(20).max(400),
        how: z.enum(['step', 'ramp']).default('step'),
      }),
    )
    .max(400)
    .default([]),
  /** Other meters from the beginning of a bar on, in order. */
  meterChanges: z
    .array(z.strictObject({ bar: z.number().int().min(2).max(100_000), meter }))
    .max(400)
    .default([]),
  panLaw: z.enum(PAN_LAWS).default('-3 dB'),
  rough: z
    .strictObject({
      file,
      offsetSeconds: z.number().min(-FARTHEST_OFFSET_SECONDS).max(FARTHEST_OFFSET_SECONDS).default(0),
      ...roughSource.shape,
    })
    .nullable()
    .default(null),
  sections: z.array(sectionSchema).max(200).default([]),
  /** In the order of their places; absent: there are none. */
  markers: z.array(markerSchema).max(500).optional(),
  /** What the mix as received is made of, whatever the tracks' own levels are; tracks that it does not name are at 0 dB, in the middle. */
  receivedBalance: receivedBalanceSchema.default([]),
  tracks,
  groups,
  buses,
  mixBus,
  lines,
  /** Guards that differ from the default set (`presets/guards`). */
  guards: z.array(guardSchema).max(GUARDS.length).default([]),
  passes: z.array(passSchema).max(64).default([]),
  trials: z.array(trialSchema).max(200).default([]),
  clientNotes: z.array(clientNoteSchema).max(500).default([]),
});

export type Session = z.output<typeof sessionSchema>;
export type Track = Session['tracks'][number];
export type ReceivedPlace = Session['receivedBalance'][number];
export type Group = Session['groups'][number];
export type Bus = Session['buses'][number];
export type Send = Group['sends'][number];
export type RoughSource = z.output<typeof roughSource>;
export type Guard = (typeof GUARDS)[number];
export type GuardLimit = Session['guards'][number];
export type Pass = Session['passes'][number];
export type ClientNote = Session['clientNotes'][number];
export type Trial = Session['trials'][number];
export type Section = Session['sections'][number];
export type Marker = z.output<typeof markerSchema>;
