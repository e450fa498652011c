import {
  processorItemSchema,
  splitItemSchema,
  type ChainItem,
  type ProcessorItem,
  type SplitItem,
} from '../../src/session/schema.ts';

/** A processor as it stands in a chain, with the defaults of what is not given. */
export const processorItem = (processor: string, fields: Partial<ProcessorItem> = {}): ProcessorItem =>
  processorItemSchema.parse({ id: processor, processor, ...fields });

/** A split of these processors. */
export const splitItem = (split: readonly ProcessorItem[], fields: Partial<SplitItem> = {}): SplitItem =>
  splitItemSchema.parse({ id: 'split', split, ...fields });

/** The processor at the head of a chain. */
export const firstProcessor = (chain: readonly ChainItem[]): ProcessorItem => processorItemSchema.parse(chain[0]);
