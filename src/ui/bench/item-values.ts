import type { Values } from '../../dsp/core/parameter.ts';
import type { ProcessorItem, Session } from '../../session/schema.ts';
import { valuesOf } from '../../session/values.ts';

/** The numbers that a processor runs with at the song's tempo, whether it is on or not. */
export const itemValues = (item: ProcessorItem, { tempo, meter }: Pick<Session, 'tempo' | 'meter'>): Values =>
  valuesOf(item, tempo, meter);
