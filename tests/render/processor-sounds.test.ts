import { expect, it } from 'vitest';
import { renderDirect } from '../../src/render/direct.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { mono, scaled, stereo, whiteNoise } from '../helpers/signals.ts';

const take = mono(whiteNoise(0.3, 1));
const room = stereo(whiteNoise(0.1, 2), whiteNoise(0.1, 3));
const session = sessionFrom({
  groups: [
    {
      id: 'band',
      name: 'band',
      chain: [{ processor: 'convolution', sound: 'rooms/hall.wav', settings: { mix: 100 } }],
    },
  ],
});
const keyWith = (hall: typeof room): string =>
  planned(session, { take }, { 'rooms/hall.wav': hall }).plan.strips[0]!.key;

it('a response is part of what a strip depends on: its samples, not its name', () => {
  expect(keyWith(room)).toBe(keyWith(stereo(room.channels[0]!.slice(), room.channels[1]!.slice())));
  expect(keyWith(stereo(room.channels[0]!, scaled(room.channels[1]!, 0.5)))).not.toBe(keyWith(room));
  expect(planned(session, { take }).plan.strips[0]!.key).not.toBe(keyWith(room));
});

it('a response is heard at the session’s rate, with all of its tail', async () => {
  const at24k = { ...room, sampleRate: 24_000 };
  const { plan, sources } = planned(session, { take }, { 'rooms/hall.wav': at24k });
  const frames = take.channels[0]!.length;
  expect(plan.soundFrames).toBe(frames + 2 * room.channels[0]!.length);
  const [left] = (await renderDirect(plan, sources)).get('band')!.channels;
  const energy = (from: number, to: number): number => left!.subarray(from, to).reduce((sum, x) => sum + x * x, 0);
  expect(energy(frames, plan.soundFrames)).toBeGreaterThan(1e-3 * energy(0, frames));
  expect(energy(plan.soundFrames, left!.length)).toBeLessThan(1e-12);
});
