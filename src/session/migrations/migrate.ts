import { presetFromVersion1, sessionFromVersion1 } from './from-version-1.ts';
import { sessionFromVersion2 } from './from-version-2.ts';
import { presetFromVersion2, sessionFromVersion3 } from './named-detectors.ts';
import { withReceivedBalance } from './received-balance.ts';

/** What brings the documents of one format from each version to the next; the first is from version 1. */
type Steps = readonly ((json: Readonly<Record<string, unknown>>) => Readonly<Record<string, unknown>>)[];

const STEPS: Readonly<Record<string, Steps>> = {
  'tributary-session': [sessionFromVersion1, sessionFromVersion2, sessionFromVersion3],
  'tributary-preset': [presetFromVersion1, presetFromVersion2],
};

/**
 * A session, preset or bus set as JSON, brought to the version that is current. What is of another format or version, or
 * no object, is given back as it is: whoever reads it says what is wrong with it.
 */
export const migrated = (json: unknown): unknown => {
  if (typeof json !== 'object' || json === null || Array.isArray(json)) return json;
  const document = json as Readonly<Record<string, unknown>>;
  const steps = STEPS[String(document.format)] ?? [];
  const { version } = document;
  if (typeof version !== 'number' || !Number.isInteger(version) || version < 1) return json;
  const current = steps
    .slice(version - 1)
    .reduce((earlier, step, n) => ({ ...step(earlier), version: version + n + 1 }), document);
  return document.format === 'tributary-session' ? withReceivedBalance(current) : current;
};
