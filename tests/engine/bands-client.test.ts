import { expect, it, vi } from 'vitest';
import { finished } from '../../src/audio/steps.ts';
import type { Audio } from '../../src/audio/audio.ts';
import type { BandGram } from '../../src/blend/gram/band-gram.ts';
import { BandKeeper } from '../../src/blend/gram/band-keeper.ts';
import { BandsService } from '../../src/engine/worker/bands-service.ts';
import type { BandsReply, BandsRequest } from '../../src/engine/worker/bands-messages.ts';
import { pinkNoise, silence, stereo } from '../helpers/signals.ts';

/** The keeper of bands as the client meets it: in a thread of its own, which answers later. */
class KeeperThread {
  onmessage: ((event: { data: BandsReply }) => void) | null = null;
  private readonly service = new BandsService((reply) => this.reply(reply));

  constructor() {
    this.reply({ kind: 'ready' });
  }

  private reply(data: BandsReply): void {
    setTimeout(() => this.onmessage!({ data }));
  }

  postMessage(request: BandsRequest): void {
    this.service.hear(request);
  }
}

vi.mock('../../src/engine/worker/bands.worker.ts?worker', () => ({ default: KeeperThread }));

const fresh = (sounds: readonly Audio[]): BandGram => finished(new BandKeeper().bandSteps(sounds));

const expectAlike = (bands: BandGram, expected: BandGram): void => {
  expect(bands.mid).toHaveLength(expected.mid.length);
  for (const part of ['mid', 'side'] as const) {
    bands[part].forEach((values, band) => {
      expect(values).toHaveLength(expected[part][band]!.length);
      values.forEach((value, pair) => expect(value).toBeCloseTo(expected[part][band]![pair]!, 12));
    });
  }
};

it('sounds may come between others, go and change places: their bands are those of all of them anew', async () => {
  const { BandsClient } = await import('../../src/engine/worker/bands-client.ts');
  const client = new BandsClient();
  const [a, b, c, d, e] = [1, 2, 3, 4, 5].map((seed) => stereo(pinkNoise(0.5, seed).subarray(0, 20_000)));
  const empty = stereo(silence(0.5).subarray(0, 20_000));
  for (const sounds of [
    [a, b, c, d],
    [a, b, c, d, empty],
    [a, e, b, c, d, empty],
    [empty, d, b],
    [d, b],
  ] as Audio[][])
    expectAlike(await client.of(sounds), fresh(sounds));
});

it('sounds that are wanted before those before them were told are the ones that are answered', async () => {
  const { BandsClient } = await import('../../src/engine/worker/bands-client.ts');
  const client = new BandsClient();
  const [a, b, c] = [1, 2, 3].map((seed) => stereo(pinkNoise(0.5, seed).subarray(0, 20_000))) as [Audio, Audio, Audio];
  void client.of([a, b, c]);
  await new Promise((resolve) => setTimeout(resolve, 1));
  void client.of([b]);
  expectAlike(await client.of([c, b]), fresh([c, b]));
});
