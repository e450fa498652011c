import { describe, expect, it } from 'vitest';
import type { RenderRequest } from '../../src/render/render-messages.ts';
import { WorkerInputs, type Input } from '../../src/render/worker-inputs.ts';

/** Two channels of 40 bytes. */
const input = (): Input => ({
  of: {},
  sampleRate: 48_000,
  channels: [new Float32Array(10).fill(0.5), new Float32Array(10)],
});

const told = (budget: number): { inputs: WorkerInputs; requests: RenderRequest[] } => {
  const requests: RenderRequest[] = [];
  return { inputs: new WorkerInputs((request) => void requests.push(request), budget), requests };
};

const kinds = (requests: readonly RenderRequest[]): string[] => requests.map(({ kind }) => kind);

describe('what goes over to the rendering worker', () => {
  it('is copied once, channel by channel, before the job that needs it', async () => {
    const { inputs, requests } = told(1000);
    const sound = input();
    for (let n = 0; n < 3; n++) await inputs.provide([sound], () => requests.push({ kind: 'stop', job: n }), undefined);
    expect(kinds(requests)).toEqual(['channel', 'channel', 'stop', 'stop', 'stop']);
    const [first] = requests as [Extract<RenderRequest, { kind: 'channel' }>];
    expect(first.samples).toEqual(sound.channels[0]);
    expect(first.samples.buffer).not.toBe(sound.channels[0]!.buffer);
  });

  it('is dropped beyond the budget once a job does without it, the oldest first', async () => {
    const { inputs, requests } = told(160);
    const [a, b, c] = [input(), input(), input()];
    for (const sounds of [[a, b, c], [c], [a, c]]) {
      await inputs.provide(sounds, () => {}, undefined);
      // What one job needs is there, whatever the budget.
      expect(inputs.bytes).toBe(sounds.length === 3 ? 240 : 160);
    }
    const drops = requests.filter((request) => request.kind === 'drop');
    expect(drops).toEqual([
      { kind: 'drop', sounds: [inputs.numberOf(a.of)] },
      { kind: 'drop', sounds: [inputs.numberOf(b.of)] },
    ]);
  });

  it('ends with the job that is not wanted any more, and the next goes on', async () => {
    const { inputs, requests } = told(1000);
    const stop = new AbortController();
    const first = inputs.provide([input(), input()], () => requests.push({ kind: 'stop', job: 1 }), stop.signal);
    const second = inputs.provide([input()], () => requests.push({ kind: 'stop', job: 2 }), undefined);
    stop.abort();
    await Promise.all([first, second]);
    expect(requests.filter(({ kind }) => kind === 'stop')).toEqual([{ kind: 'stop', job: 2 }]);
  });
});
