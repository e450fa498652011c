import { z } from 'zod';
import { CURVES } from '../../dsp/core/line.ts';
import { id } from '../chain/chain-item-schema.ts';

/** What a line can move; which of them a target has stands in `controls.ts`. */
export const LINE_CONTROLS = ['level', 'pan', 'on', 'trim', 'send', 'parameter', 'mix', 'bypass'] as const;

/** What a line moves, and of what. */
export const lineTargetSchema = z.strictObject({
  /** Track, group or bus by its id; `mix`: the mix bus; `rough`: the rough where it is a source. */
  of: id,
  what: z.enum(LINE_CONTROLS),
  /** The bus that a send goes to; only of a send. */
  to: id.optional(),
  /** Item of the chain; only of a parameter, a mix or a bypass. */
  item: id.optional(),
  /** Parameter of that item; only of a parameter. */
  parameter: z.string().min(1).optional(),
});

export const linePointSchema = z.strictObject({
  /** Seconds of the song, or a place in bars: 1 is the start of the first bar, 2.5 the middle of the second (`unit` says which). */
  at: z.number().min(0).max(86_400),
  /** A number in the unit of what is moved, the name of a choice, or true / false. */
  value: z.union([z.number(), z.string(), z.boolean()]),
  /** How the value goes on to the next point, which switches and choices can only hold: see `between` in `dsp/core/line.ts`. */
  curve: z.enum(CURVES).default('hold'),
});

/**
 * A line over time: while it is on, it stands in for the setting that it moves. Before its first point it has the value of that, after its
 * last the value of that.
 */
export const lineSchema = z.strictObject({
  id,
  target: lineTargetSchema,
  unit: z.enum(['seconds', 'bars']).default('seconds'),
  on: z.boolean().default(true),
  points: z.array(linePointSchema).min(1).max(20_000),
});

export type Line = z.output<typeof lineSchema>;
export type LineTarget = Line['target'];
export type LinePoint = Line['points'][number];
export type LineValue = LinePoint['value'];
