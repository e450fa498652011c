import type { Received } from '../../intake/received.ts';
import type { Outcome } from '../worker/protocol.ts';

/** Messages of the worker that checks files: the part done, 0..1, then the result. */
export type ReceivedMessage = { readonly part: number } | { readonly outcome: Outcome<Received> };
