import { expect, test } from 'vitest';
import { headroomOf, stageHeadroom } from '../../src/session/headroom.ts';
import { busesWithRough, roughWords } from '../../src/session/rough-source.ts';
import { smallSession } from '../helpers/session-file.ts';

test.each([
  [2.5, 12, -14.5],
  [-30, 12, 18],
  [-3.456, 6, -2.55],
  [60, 12, -60],
])('a sum with a true peak of %f dBTP keeps %f dB of headroom with a trim of %f dB', (peak, headroom, trimDb) => {
  const staged = stageHeadroom(smallSession(), peak, headroom);
  expect(staged.mixBus.trimDb).toBeCloseTo(trimDb, 10);
  if (trimDb > -60) expect(headroomOf(peak, staged.mixBus.trimDb)).toBeGreaterThanOrEqual(headroom - 1e-9);
});

test('the rough is told of wherever it is heard: in the bus that it feeds, and in those behind it', () => {
  const session = smallSession();
  const send = { to: 'echo', levelDb: 0, tap: 'post-fader' as const, on: true };
  const fed = { ...session, rough: { file: 'rough.wav', offsetSeconds: 0, chain: [], sends: [send] } };
  expect(busesWithRough(fed)).toEqual(['Echo', 'Plate']);
  expect(roughWords(fed)).toBe('The buses "Echo", "Plate" contain the rough mix, with all that is in it.');
  expect(roughWords(session)).toBeNull();
  const off = (id: string) => ({
    ...fed,
    buses: fed.buses.map((bus) => (bus.id === id ? { ...bus, on: false } : bus)),
  });
  expect(busesWithRough(off('plate'))).toEqual(['Echo']);
  expect(busesWithRough(off('echo'))).toEqual([]);
  expect(busesWithRough({ ...fed, rough: { ...fed.rough, sends: [{ ...send, on: false }] } })).toEqual([]);
});
