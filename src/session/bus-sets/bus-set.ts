import { z } from 'zod';
import { presetWordsShape } from '../presets/preset.ts';
import { FEEDS, ROLES } from '../roles.ts';
import { busSchema, chainSchema, sendSchema } from '../schema.ts';

const name = busSchema.shape.name;
const { levelDb, tap } = sendSchema.shape;

/** One bus of a set: as in a session, but fed and keyed by roles, and sending to buses of the set by name. */
const setBusSchema = z.strictObject({
  name,
  /** The name of a chain preset, or a chain. */
  chain: z.union([z.string().min(1), chainSchema]),
  blendDb: busSchema.shape.blendDb,
  /** Roles that feed it; empty if only another bus of the set does. */
  feeds: z.array(z.strictObject({ role: z.enum(FEEDS), levelDb, tap })).default([]),
  /** Buses further down in the set that it feeds. */
  sends: z.array(z.strictObject({ to: name, levelDb, tap })).default([]),
  /** Role of its key input; null: none. */
  key: z.enum(ROLES).nullable().default(null),
});

/** Buses that can be laid over any session's groups in one go, with what their user should know. */
export const busSetSchema = z.strictObject({
  ...presetWordsShape,
  kind: z.literal('bus set'),
  buses: z.array(setBusSchema).min(1).max(16),
});

export type SetBus = z.output<typeof setBusSchema>;
export type BusSet = z.output<typeof busSetSchema>;
