import type { ProcessorItem } from '../../session/schema.ts';
import type { PathRow } from '../bench/paths.ts';

/** What a view of one processor is given. */
export interface ItemProps {
  /** The path in whose chain it stands. */
  row: PathRow;
  item: ProcessorItem;
}
