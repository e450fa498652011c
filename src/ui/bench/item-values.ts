import type { Values } from '../../dsp/parameter.ts';
import type { ChainItem, Session } from '../../session/schema.ts';
import { stepsOf } from '../../session/values.ts';

/** The numbers that a processor runs with at the song's tempo, whether it is on or not. */
export const itemValues = (item: ChainItem, { tempo, meter }: Pick<Session, 'tempo' | 'meter'>): Values =>
  stepsOf([{ ...item, on: true }], tempo, meter)[0]!.values;
