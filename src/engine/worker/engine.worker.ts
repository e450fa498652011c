/// <reference lib="webworker" />
import { expose } from 'comlink';
import { EngineHost } from './engine-host.ts';
import { appStore } from './app-store.ts';
import { HostCalls } from './host-calls.ts';
import { openBrowserDisk, type BrowserDisk } from './opfs-disk.ts';
import type { EngineMessage } from './protocol.ts';

/**
 * The engine in a thread of its own. Its messages and answers go through one port, so that they stay in order; the port
 * keeps messages that arrive before this script is loaded.
 */

const scope = self as unknown as DedicatedWorkerGlobalScope;

let disk: BrowserDisk | null = null;

const start = async (port: MessagePort): Promise<void> => {
  const tell = (message: EngineMessage): void => port.postMessage({ message });
  disk = await openBrowserDisk().catch(() => null);
  const room = appStore(disk, (storage) => tell({ kind: 'view', change: { storage } }));
  expose(new HostCalls(new EngineHost(tell, room), tell), port);
};

const end = (): void => {
  disk?.close();
  scope.close();
};

scope.onmessage = ({ data }: MessageEvent<MessagePort | 'end'>) => (data === 'end' ? end() : void start(data));
scope.postMessage('listening');
