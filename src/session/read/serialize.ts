import { processors } from '../../dsp/core/registry.ts';
import { sessionSchema, type ProcessorItem, type Session } from '../schema.ts';

/** Settings in the order of the processor's parameters, so that equal chains are equal texts. */
const orderedSettings = ({ processor, settings }: ProcessorItem): ProcessorItem['settings'] => {
  const names = Object.keys(processors.get(processor)?.parameters ?? {});
  const known = names.filter((name) => Object.hasOwn(settings, name));
  const others = Object.keys(settings).filter((name) => !names.includes(name));
  return Object.fromEntries([...known, ...others].map((name) => [name, settings[name]!]));
};

/**
 * The text of a session file: JSON with the keys in the order of the schema, defaults written out (a file keeps its
 * sound when a default changes), and a newline at the end. `parseSession` gives the same session back.
 */
export const sessionText = (session: Session): string => {
  const ordered = sessionSchema.parse(session);
  const replacer = function (this: unknown, key: string, value: unknown): unknown {
    return key === 'settings' ? orderedSettings(this as ProcessorItem) : value;
  };
  return `${JSON.stringify(ordered, replacer, 2)}\n`;
};
