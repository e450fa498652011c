import { expect, it } from 'vitest';
import { chainsMoved, mixBusMoved } from '../../src/engine/listening/direct-moves.ts';
import { preFader } from '../../src/render/plan/plan.ts';
import { MIX, setSetting } from '../../src/session/chain/chain-edits.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { pinkNoise, stereo } from '../helpers/signals.ts';

const compressor = { id: 'c', processor: 'compressor', settings: { threshold: -24, lookAhead: 5 } };
const song = sessionFrom({
  groups: [{ id: 'band', name: 'Band', sends: [{ to: 'squeeze' }] }],
  buses: [{ id: 'squeeze', name: 'Squeeze', chain: [compressor] }],
  mixBus: { trimDb: -3, chain: [{ ...compressor, id: 'm' }] },
});
const line = {
  ...{ id: 'l', target: { of: 'squeeze', what: 'parameter', item: 'c', parameter: 'ratio' } },
  points: [
    { at: 0, value: 2, curve: 'linear' },
    { at: 1, value: 8 },
  ],
};
const lined = { ...song, lines: sessionFrom({ lines: [line] }).lines };
const take = stereo(pinkNoise(1, 1, 0.2), pinkNoise(1, 2, 0.2));

it.each([
  ['settings', song],
  ['settings under lines', lined],
])('what goes straight to the sound is what the worker plans: %s', (_, before) => {
  const after = setSetting(before, 'squeeze', 'c', 'threshold', -30);
  const { plan } = planned(after, { take });
  const { steps } = plan.strips.find(({ id }) => id === 'squeeze')!.spec;
  expect(chainsMoved(before, after)).toEqual([
    ['squeeze', steps],
    [preFader('squeeze'), steps],
  ]);
  expect(mixBusMoved(before, after)).toBeNull();
  const bus = setSetting(before, MIX, 'm', 'threshold', -30);
  expect(mixBusMoved(before, bus)).toEqual(planned(bus, { take }).plan.mixBus);
  expect(chainsMoved(before, bus)).toEqual([]);
});

it('what hangs on the time of the song, or on a sound file, is left to the worker', () => {
  const moved = setSetting(song, 'squeeze', 'c', 'threshold', -30);
  expect(chainsMoved(song, { ...moved, tempo: song.tempo + 1 })).toEqual([]);
  const [bus] = moved.buses;
  const chain = bus!.chain.map((item) => ({ ...item, sound: 'room.wav' }));
  expect(chainsMoved(song, { ...song, buses: [{ ...bus!, chain }] })).toEqual([]);
  const { trimDb } = song.mixBus;
  expect(mixBusMoved(song, { ...song, mixBus: { trimDb, chain } })).toBeNull();
});
