import type { Plan } from './plan.ts';
import type { StripSound } from './strip-cache.ts';

/** What the rendering worker is told. */
export type RenderRequest =
  /** One more channel of a source or strip: one message a channel, so that copying never holds the page up. */
  | { readonly kind: 'channel'; readonly sound: number; readonly sampleRate: number; readonly samples: Float32Array }
  /** Sounds that are no longer wanted by jobs to come. */
  | { readonly kind: 'drop'; readonly sounds: readonly number[] }
  | {
      readonly kind: 'job';
      readonly job: number;
      /** Its paths are the strips to run. */
      readonly plan: Plan;
      /** Sounds of the sources by track id, and of known strips by their key in this plan. */
      readonly sources: readonly (readonly [id: string, sound: number])[];
      readonly strips: readonly (readonly [key: string, sound: number])[];
    }
  | { readonly kind: 'stop'; readonly job: number };

/** What it answers. */
export type RenderReply =
  /** Its modules are loaded: from now on nothing that it is told is lost. */
  | { readonly kind: 'listening' }
  | { readonly kind: 'progress'; readonly job: number; readonly part: number }
  /** The strips that have been run by key. `fault`: why the others have not; null: all have. */
  | {
      readonly kind: 'end';
      readonly job: number;
      readonly strips: readonly (readonly [key: string, sound: StripSound])[];
      readonly fault: string | null;
    };
