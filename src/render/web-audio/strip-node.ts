import type { StripSpec } from '../../dsp/core/strip.ts';

/** Name under which the worklet is registered. */
export const STRIP_PROCESSOR = 'tributary-strip';

/** What a strip node is made with. */
export interface StripNodeOptions {
  readonly spec: StripSpec;
  /** Whether the node tells how many frames it has done, about once for each second of sound. */
  readonly reports?: boolean;
}

/** What a node that reports tells. */
export interface StripReport {
  readonly frames: number;
}

/** Messages to a running strip node: go on as another strip, or stop. */
export type StripMessage = { readonly spec: StripSpec } | { readonly halt: true };
