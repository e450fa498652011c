import type { Received } from '../../intake/received.ts';
import type { Outcome } from '../worker/protocol.ts';

/** What the worker that checks files tells: the part done, 0..1, then what it came to. */
export type ReceivedMessage = { readonly part: number } | { readonly outcome: Outcome<Received> };
