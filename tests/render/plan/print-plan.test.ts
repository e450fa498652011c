import { expect, it } from 'vitest';
import { renderDirect } from '../../../src/render/direct.ts';
import { mainPrint } from '../../../src/render/print.ts';
import { PRINT, printKey, printPlan } from '../../../src/render/plan/print-plan.ts';
import { StripCache } from '../../../src/render/strip-cache.ts';
import type { Session } from '../../../src/session/schema.ts';
import { planned, sessionFrom } from '../../helpers/sessions.ts';
import { pinkNoise, stereo } from '../../helpers/signals.ts';

const session = (parts: Record<string, unknown> = {}): Session =>
  sessionFrom({
    groups: [{ id: 'band', name: 'band', faderDb: -2, sends: [{ to: 'press' }, { to: 'off' }] }],
    buses: [
      {
        id: 'press',
        name: 'press',
        blendDb: -5,
        chain: [{ id: 'c', processor: 'compressor', settings: { threshold: -30, ratio: 5, lookAhead: 4 } }],
      },
      { id: 'off', name: 'off', on: false },
    ],
    mixBus: { trimDb: -3, chain: [{ id: 'l', processor: 'limiter', settings: {} }] },
    ...parts,
  });
const take = stereo(pinkNoise(1, 1), pinkNoise(1, 2));

it('prints through the executor what the paths, summed and run through the mix bus, are', async () => {
  const { plan, sources } = planned(session(), { take });
  const cache = new StripCache();
  const paths = await renderDirect(plan, sources, { cache });
  const expected = mainPrint(plan, paths);
  const printed = (await renderDirect(printPlan(plan), sources, { cache })).get(PRINT)!;
  let apart = 0;
  expected.channels.forEach((channel, n) =>
    channel.forEach((x, i) => (apart = Math.max(apart, Math.abs(x - printed.channels[n]![i]!)))),
  );
  // The sum on its way to the mix bus is single precision in one and double in the other.
  expect(apart).toBeLessThan(1e-6);
  expect(Math.max(...expected.channels[0]!.map(Math.abs))).toBeGreaterThan(0.1);
});

it('leaves out what is off, and names all that the print depends on', () => {
  const keyOf = (parts: Record<string, unknown>): string => printKey(printPlan(planned(session(parts), { take }).plan));
  const { plan } = planned(session(), { take });
  expect(
    printPlan(plan)
      .strips.at(-1)!
      .from.map(({ id }) => id),
  ).toEqual(['band', 'press']);
  expect(keyOf({ title: 'Other' })).toBe(keyOf({}));
  expect(keyOf({ mixBus: { trimDb: -4 } })).not.toBe(keyOf({}));
  expect(keyOf({ groups: [{ id: 'band', name: 'band', faderDb: -1, sends: [{ to: 'press' }] }] })).not.toBe(keyOf({}));
});
