import { expect, test } from 'vitest';
import { mono, stereo, whiteNoise } from '../helpers/signals.ts';
import { run, runJson, Workplace } from './command.ts';
import { writeSession, writeSounds } from './song.ts';

const place = new Workplace();
writeSounds(place);
place.writeAudio('room.wav', stereo(whiteNoise(0.5, 1, 0.1), whiteNoise(0.5, 2, 0.1)));
const voice = place.writeAudio('voice.wav', mono(whiteNoise(1, 3)));
const item = (sound: string) => ({ processor: 'convolution', sound, settings: { mix: 100 } });
const bus = (sound: string) => ({ buses: [{ id: 'double', name: 'Room', chain: [item(sound)] }] });

interface Ledger {
  readonly paths: readonly { readonly id: string; readonly shareOfLoudness: number }[];
}

test('a session names an impulse response beside it, and its path is heard', async () => {
  const { paths } = (await runJson('ledger', writeSession(place, 'room.json', bus('room.wav')))) as Ledger;
  expect(paths.find(({ id }) => id === 'double')!.shareOfLoudness).toBeGreaterThan(0.1);
});

test('a chain file names one beside it; its tail is kept', async () => {
  const chain = place.write('chain.json', JSON.stringify([item('room.wav')]));
  const { tailSeconds } = (await runJson('chain', voice, '--chain', chain)) as { tailSeconds: number };
  expect(tailSeconds).toBeCloseTo(0.5, 2);
});

test('what is missing or out of place is told in one sentence', async () => {
  const missing = await run('ledger', writeSession(place, 'missing.json', bus('none.wav')));
  expect(missing.code).toBe(2);
  expect(missing.err).toContain('buses[0].chain[0].sound (the sound of "convolution")');
  const misplaced = place.write('misplaced.json', JSON.stringify([{ processor: 'gain', sound: 'room.wav' }]));
  const outOfPlace = await run('chain', voice, '--chain', misplaced);
  expect([outOfPlace.code, outOfPlace.err.trim()]).toEqual([
    2,
    `${misplaced}: [0].sound must be nothing, as "gain" works with no sound of its own, not "room.wav".`,
  ]);
});

test('a response that is too long is refused with what to do', async () => {
  place.writeAudio('long.wav', mono(whiteNoise(21, 5, 0.1)));
  const { code, err } = await run(
    'chain',
    voice,
    '--chain',
    place.write('long.json', JSON.stringify([item('long.wav')])),
  );
  expect([code, err.trim().split('\n').at(-1)]).toEqual([
    2,
    'long.wav does not fit: expected a sound of at most 20 seconds (cut it to its beginning), found 21.0 seconds.',
  ]);
});

test('a split is one stage of a chain, named with what stands in it', async () => {
  const gain = { processor: 'gain', settings: { gain: -6 } };
  const chain = place.write('split.json', JSON.stringify([{ split: [gain, { ...gain, mix: 0 }], mix: 50 }]));
  const { stages } = (await runJson('chain', voice, '--chain', chain)) as {
    stages: { processor: string; label: string; change: { integratedLufs: number } }[];
  };
  expect(stages.map(({ processor, label }) => [processor, label])).toEqual([
    ['split', 'Split (Gain; Gain, mix 0 %), mix 50 %'],
  ]);
  // Half of the sound, and half of it 6 dB lower: 20 log10((1 + 10^(-6/20)) / 2) = -2.4919 dB.
  expect(stages[0]!.change.integratedLufs).toBeCloseTo(-2.4919, 3);
});
