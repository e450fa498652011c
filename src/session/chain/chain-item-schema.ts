import { z } from 'zod';
import { MIX_LAWS } from '../../dsp/core/wet-dry.ts';

/** Names a thing within a session, or an item within its chain. */
export const id = z.string().regex(/^[a-z0-9][a-z0-9-]{0,63}$/, 'an id of small letters, digits and hyphens');

/** A sound file that a session or a chain names. */
export const file = z
  .string()
  .min(1)
  .regex(/^(?![/\\])(?![A-Za-z]:)[^\\]+$/, 'a path relative to the session file, with forward slashes');

/** What every item of a chain has. */
const item = {
  /** Names the item within its whole chain, splits included; filled in when a file leaves it out. */
  id,
  on: z.boolean().default(true),
  /**
   * Share of the processed sound, percent; the rest is the dry sound, aligned with it. At 100 there is no dry sound.
   */
  mix: z.number().min(0).max(100).default(100),
  /** Mix law: "linear" keeps the level of correlated sounds, the other that of uncorrelated ones. */
  law: z.enum(MIX_LAWS).default('linear'),
};

/** One processor in a chain. Settings that are not given take the processor's defaults (which change nothing). */
export const processorItemSchema = z.strictObject({
  id: item.id,
  processor: z.string().min(1),
  /** Sound file that the processor works with, such as an impulse response. */
  sound: file.optional(),
  on: item.on,
  mix: item.mix,
  law: item.law,
  settings: z.record(z.string(), z.union([z.number(), z.string(), z.boolean()])).default({}),
});

/** Processors in a row with one dry share beside all of them. */
export const splitItemSchema = z.strictObject({ ...item, split: z.array(processorItemSchema).min(1).max(16) });

export type ProcessorItem = z.output<typeof processorItemSchema>;
export type SplitItem = z.output<typeof splitItemSchema>;
export type ChainItem = ProcessorItem | SplitItem;
export type ChainItems = readonly ChainItem[];
