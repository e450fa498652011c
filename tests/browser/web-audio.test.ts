import { expect, test } from 'vitest';

test('an offline render scales a ramp by the gain, sample by sample', async () => {
  const context = new OfflineAudioContext({ numberOfChannels: 1, length: 1000, sampleRate: 48_000 });
  const buffer = context.createBuffer(1, 1000, 48_000);
  const ramp = Float32Array.from({ length: 1000 }, (_, frame) => frame / 1024);
  buffer.copyToChannel(ramp, 0);
  const source = new AudioBufferSourceNode(context, { buffer });
  source.connect(new GainNode(context, { gain: 0.5 })).connect(context.destination);
  source.start();
  const rendered = (await context.startRendering()).getChannelData(0);
  // A power of two only moves the exponent, so nothing is rounded.
  expect([...rendered]).toEqual([...ramp].map((sample) => sample / 2));
});
