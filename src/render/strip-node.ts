import type { StripSpec } from '../dsp/strip.ts';
import type { Values } from '../dsp/parameter.ts';

/** Name under which the worklet is registered. */
export const STRIP_PROCESSOR = 'tributary-strip';

/** What a strip node is made with. */
export interface StripNodeOptions {
  readonly spec: StripSpec;
}

/** What a running strip node can be told: new values for one processor, or a new strip in place of the old. */
export type StripMessage = { readonly set: number; readonly values: Values } | { readonly spec: StripSpec };
