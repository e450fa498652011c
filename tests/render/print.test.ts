import { describe, expect, it } from 'vitest';
import { wholeOf } from '../../src/audio/audio.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { LONGEST_TAIL_SECONDS } from '../../src/render/plan/make-plan.ts';
import { mainPrint, settledPlan, stemPrint } from '../../src/render/print.ts';
import { expectSameSamples } from '../helpers/same-samples.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { mono } from '../helpers/signals.ts';

const RATE = 48_000;
const click = mono(Float32Array.from({ length: RATE }, (_, n) => (n === 100 ? 0.5 : 0)));
const item = (processor: string, settings: Record<string, number | string>) => ({ id: processor, processor, settings });

const printed = async (parts: Record<string, unknown>) => {
  const { plan, sources } = planned(sessionFrom(parts), { take: click });
  const paths = await renderDirect(plan, sources);
  const settled = settledPlan(plan, paths);
  return { plan: settled, paths, main: mainPrint(settled, paths).channels[0]! };
};

const echoing = (feedback: number) => item('delay', { time: 500, feedback, mix: 100 });

describe('prints', () => {
  it('hold the tail of the mix bus', async () => {
    const { main } = await printed({ mixBus: { trimDb: 0, chain: [echoing(50)] } });
    // Echoes half a second apart, each half the last, from 0.5: the sixth is heard 3 s after the click.
    expect(main[100 + 3 * RATE]).toBeCloseTo(0.5 * 0.5 ** 5, 6);
  });

  it('are not lengthened by a path that is off or shut', async () => {
    const bus = { id: 'far', name: 'far', chain: [echoing(80)] };
    const groups = [{ id: 'band', name: 'band', sends: [{ to: 'far' }] }];
    for (const still of [{ on: false }, { blendDb: -90 }]) {
      const { main } = await printed({ groups, buses: [{ ...bus, ...still }] });
      expect(main.length).toBe(RATE);
    }
    expect((await printed({ groups, buses: [bus] })).main.length).toBeGreaterThan(5 * RATE);
  });

  it('are as long at one blend as at another', async () => {
    const far = { id: 'far', name: 'far', chain: [echoing(50)] };
    const groups = [{ id: 'band', name: 'band', sends: [{ to: 'far' }] }];
    const lengths = await Promise.all(
      [-30, -6, 6].map(async (blendDb) => (await printed({ groups, buses: [{ ...far, blendDb }] })).main.length),
    );
    expect(new Set(lengths).size).toBe(1);
    expect(lengths[0]).toBeGreaterThan(5 * RATE);
  });

  it('fade out where a tail is longer than is rendered, stems and mix alike', async () => {
    const { plan, paths, main } = await printed({
      groups: [{ id: 'band', name: 'band', faderDb: -90, sends: [{ to: 'far', tap: 'pre-fader' }] }],
      buses: [{ id: 'far', name: 'far', chain: [echoing(95)] }],
    });
    expect(plan.tailCut).toBe(true);
    expect(main.length).toBe(RATE + LONGEST_TAIL_SECONDS * RATE);
    expectSameSamples(wholeOf(stemPrint(plan, paths, 'far')).channels[0]!, main);
    const echo = (seconds: number): number => Math.abs(main[100 + seconds * RATE]!);
    expect(echo(12.5)).toBeGreaterThan(0);
    expect(echo(12.5)).toBeLessThan(0.6 * echo(11.5));
  });
});
