import { z } from 'zod';
import { chainSchema } from './schema.ts';

/** A chain that can be laid on a bus, a group, a track or the mix bus, with what its user should know. */
export const presetSchema = z.strictObject({
  format: z.literal('tributary-preset'),
  version: z.literal(1),
  kind: z.literal('chain'),
  /** What it does, in two or three plain words: "drum squeeze". */
  name: z.string().min(1).max(60),
  purpose: z.string().min(1).max(300),
  listenFor: z.string().min(1).max(300),
  caution: z.string().min(1).max(300),
  /** Where the blend of a parallel bus with this chain usually lands, dB; null where it is used in series. */
  usualBlendDb: z.tuple([z.number(), z.number()]).nullable(),
  chain: chainSchema.refine((items) => items.length > 0, 'at least one processor'),
});

export type Preset = z.output<typeof presetSchema>;
