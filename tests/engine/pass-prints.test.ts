import { expect, it, vi } from 'vitest';
import { PassPrints } from '../../src/engine/worker/pass-prints.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { StripCache } from '../../src/render/strip-cache.ts';
import { memoryRoom } from '../../src/render/store/room.ts';
import { MIX, setProcessorOn } from '../../src/session/chain/chain-edits.ts';
import { ROUGH_THROUGH } from '../../src/session/passes/rough-through.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { mono, whiteNoise } from '../helpers/signals.ts';

const sounds = { take: mono(whiteNoise(0.2, 1)), [`${ROUGH_THROUGH}-track`]: mono(whiteNoise(0.2, 2)) };
const song = sessionFrom({
  rough: { file: 'rough.wav' },
  groups: [{ id: 'band', name: 'Band' }],
  tracks: [{ id: 'take', name: 'Take', file: 'take.wav', group: 'band' }],
  mixBus: { chain: [{ id: 'c', processor: 'compressor', settings: { threshold: -30 } }] },
});

it('the rough is not rendered again through a mix bus that is as it was: a bypass that is taken back', async () => {
  const render = vi.fn(renderDirect);
  const prints = new PassPrints(
    {
      ...{ cache: new StripCache(), render, room: memoryRoom, missingFiles: () => [] },
      planOf: (session) => planned(session, sounds),
    },
    () => {},
  );
  const printed = async (): Promise<unknown> => {
    await vi.waitFor(() => expect(prints.preparing.size).toBe(0));
    return prints.sounds.get(ROUGH_THROUGH);
  };
  prints.follow(song);
  prints.want([ROUGH_THROUGH]);
  const first = await printed();
  expect(first).toBeDefined();
  const bypassed = setProcessorOn(song, MIX, 'c', false);
  prints.follow(bypassed);
  const second = await printed();
  expect(second).not.toBe(first);
  for (let round = 0; round < 3; round++) {
    prints.follow(song);
    expect(await printed()).toBe(first);
    prints.follow(bypassed);
    expect(await printed()).toBe(second);
  }
  expect(render).toHaveBeenCalledTimes(2);
});
