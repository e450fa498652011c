import type { Received } from '../../intake/received.ts';
import type { Outcome } from '../worker/protocol.ts';

/** The files of a song as they came: tracks in the order of the session, by the path that it calls them, and the rough. */
export interface ReceivedFiles {
  readonly tracks: readonly (readonly [path: string, file: Blob])[];
  readonly rough: readonly [path: string, file: Blob] | null;
}

/** What the worker that checks them tells: the part done, 0..1, then what it came to. */
export type ReceivedMessage = { readonly part: number } | { readonly outcome: Outcome<Received> };
