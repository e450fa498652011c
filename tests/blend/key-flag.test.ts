import { expect, test } from 'vitest';
import { keyFlagsOf } from '../../src/blend/ledger/key-flag.ts';
import { sessionFrom } from '../helpers/sessions.ts';

const keyed = (key: string | null, on = true) =>
  sessionFrom({
    tracks: [{ id: 'take', name: 'take', file: 'take.wav', group: 'band' }],
    groups: [{ id: 'band', name: 'band', sends: [{ to: 'beside' }] }],
    buses: [
      {
        id: 'beside',
        name: 'beside',
        key,
        chain: [
          { id: 'duck', processor: 'compressor', on, settings: { threshold: -40, ratio: 4, sideChain: 'external' } },
        ],
      },
    ],
  });

test('a chain that listens to a key says so while nothing is connected, and only then', () => {
  expect(keyFlagsOf(keyed(null), 'beside').map(({ code }) => code)).toEqual(['no key']);
  expect(keyFlagsOf(keyed('take'), 'beside')).toEqual([]);
  expect(keyFlagsOf(keyed(null, false), 'beside')).toEqual([]);
  expect(keyFlagsOf(keyed(null), 'band')).toEqual([]);
});
