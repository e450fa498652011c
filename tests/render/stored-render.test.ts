import { expect, test } from 'vitest';
import { wholeOf, type Sound } from '../../src/audio/audio.ts';
import { finished } from '../../src/audio/steps.ts';
import { makeBlendQuery } from '../../src/blend/gram/make-blend-query.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { LocalStripPort } from '../../src/render/pool/strip-port.ts';
import { StripPool } from '../../src/render/pool/strip-pool.ts';
import { mainPrint, printedSteps, settledPlan, stemPrint } from '../../src/render/print.ts';
import { STRETCH_BYTES, StretchStore } from '../../src/render/store/stretch-store.ts';
import { expectSameSamples } from '../helpers/same-samples.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { stereo, whiteNoise } from '../helpers/signals.ts';

const squeeze = { id: 'squeeze', processor: 'compressor', settings: { threshold: -30, ratio: 4, lookAhead: 5 } };

const expectSame = (one: Sound, other: Sound): void =>
  one.channels.forEach((_, c) => expectSameSamples(wholeOf(one).channels[c]!, wholeOf(other).channels[c]!));

test('what is rendered, printed and measured out of a store is what it is out of memory, bit for bit', async () => {
  const session = sessionFrom({
    groups: [{ id: 'band', name: 'band', chain: [squeeze], sends: [{ to: 'echo' }] }],
    buses: [
      { id: 'echo', name: 'echo', blendDb: -6, chain: [{ id: 'delay', processor: 'delay', settings: { mix: 60 } }] },
    ],
    mixBus: { trimDb: -1, chain: [squeeze] },
  });
  const { plan, sources } = planned(session, { take: stereo(whiteNoise(3, 1), whiteNoise(3, 2)) });
  const places = new Map<number, Uint8Array>();
  const store = new StretchStore({
    budget: STRETCH_BYTES,
    onRefused: (error) => {
      throw error;
    },
    openDisk: () => ({
      write: (place, bytes) => void places.set(place, bytes.slice()),
      read: (place, bytes, at) => bytes.set(places.get(place)!.subarray(at, at + bytes.length)),
    }),
  });
  const whole = await renderDirect(plan, sources);
  const stored = await new StripPool([new LocalStripPort()]).render(plan, sources, { room: store });
  expect(places.size).toBeGreaterThan(5);
  expect(store.bytes.memory).toBe(STRETCH_BYTES);
  for (const [id, sound] of whole) expectSame(stored.get(id)!, sound);
  const settled = settledPlan(plan, whole);
  expect(settledPlan(plan, stored)).toEqual(settled);
  expectSame(finished(printedSteps(settled, stored, store)), mainPrint(settled, whole));
  expectSame(stemPrint(settled, stored, 'echo'), stemPrint(settled, whole, 'echo'));
  const [ofStored, ofWhole] = [stored, whole].map((paths) =>
    makeBlendQuery([...paths].map(([id, audio]) => ({ id, audio }))).allFigures([1, 0.7]),
  );
  expect(ofStored).toEqual(ofWhole);
});
