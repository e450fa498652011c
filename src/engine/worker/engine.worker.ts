/// <reference lib="webworker" />
import { expose } from 'comlink';
import { EngineHost } from './engine-host.ts';
import { HostCalls } from './host-calls.ts';
import type { EngineMessage } from './protocol.ts';

/**
 * The engine in a thread of its own. What it tells and what it answers go through one port, so that they stay in order; the port
 * keeps what comes before this is loaded.
 */

const scope = self as unknown as DedicatedWorkerGlobalScope;

scope.onmessage = ({ data: port }: MessageEvent<MessagePort>) => {
  const tell = (message: EngineMessage): void => port.postMessage({ message });
  expose(new HostCalls(new EngineHost(tell), tell), port);
};
scope.postMessage('listening');
