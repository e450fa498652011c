import type { Values } from '../../dsp/core/parameter.ts';
import type { ProcessorItem, Session } from '../../session/schema.ts';
import { valuesOf } from '../../session/values.ts';

interface Known {
  readonly tempo: number;
  readonly meter: Session['meter'];
  readonly values: Values;
}

/** What was worked out before: an item is never changed, so the same one draws the same picture. */
const known = new WeakMap<ProcessorItem, Known>();

/**
 * The numbers that a processor runs with at the song's tempo, whether it is on or not: the same object as long as they are
 * those of the same item.
 */
export const itemValues = (item: ProcessorItem, { tempo, meter }: Pick<Session, 'tempo' | 'meter'>): Values => {
  const before = known.get(item);
  if (before?.tempo === tempo && before.meter === meter) return before.values;
  const values = valuesOf(item, tempo, meter);
  known.set(item, { tempo, meter, values });
  return values;
};
