import type { Processor } from './processor.ts';

// A processor is added by adding a file: every file in processors/ that exports `processor` is registered.
const modules = import.meta.glob<{ processor: Processor }>('../processors/*.ts', { eager: true });

/** All processors by id. */
export const processors: ReadonlyMap<string, Processor> = new Map(
  Object.values(modules).map(({ processor }) => [processor.id, processor]),
);

/** The processor with this id. Throws RangeError for an unknown id: sessions are validated before they reach here. */
export const processorOf = (id: string): Processor => {
  const processor = processors.get(id);
  if (!processor) throw new RangeError(`no processor is called "${id}"`);
  return processor;
};
