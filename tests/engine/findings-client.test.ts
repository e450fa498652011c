import { expect, it, vi } from 'vitest';
import type { FindingsReply, FindingsRequest } from '../../src/engine/measuring/findings-messages.ts';

/** A worker whose modules take their time: what it is told before it listens is lost. */
class SlowWorker {
  static made: SlowWorker[] = [];
  readonly heard: FindingsRequest[] = [];
  onmessage: ((event: { data: FindingsReply }) => void) | null = null;
  private listens = false;

  constructor() {
    SlowWorker.made.push(this);
  }

  postMessage(request: FindingsRequest): void {
    if (this.listens) this.heard.push(request);
  }

  listen(): void {
    this.listens = true;
    this.onmessage!({ data: { kind: 'listening' } });
  }
}

vi.mock('../../src/engine/measuring/findings.worker.ts?worker', () => ({ default: SlowWorker }));

it('nothing is lost that is told while the worker is still loading, and the order stays', async () => {
  const { FindingsClient } = await import('../../src/engine/measuring/findings-client.ts');
  const ignore = (): void => {};
  const client = new FindingsClient({
    measured: ignore,
    mix: ignore,
    sum: ignore,
    rows: ignore,
    guards: ignore,
    measuring: ignore,
    settled: ignore,
    level: ignore,
    failed: ignore,
  });
  const worker = SlowWorker.made[0]!;
  const audio = { sampleRate: 48_000, channels: [new Float32Array(4)] };
  client.measure('rough', audio, 1);
  client.levels(['mix'], [], null);
  expect(worker.heard).toEqual([]);
  worker.listen();
  client.measure('received', audio, 1);
  expect(worker.heard.map(({ kind }) => kind)).toEqual(['measure', 'levels', 'measure']);
});
