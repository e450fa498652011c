/// <reference lib="webworker" />
import type { BandsRequest } from './bands-messages.ts';
import { BandsService } from './bands-service.ts';

/** Computes the bands of paths in a thread of its own, while the time products are computed elsewhere. */

const scope = self as unknown as DedicatedWorkerGlobalScope;

const service = new BandsService((reply) => scope.postMessage(reply));
scope.onmessage = ({ data }: MessageEvent<BandsRequest>) => service.hear(data);
scope.postMessage({ kind: 'ready' });
