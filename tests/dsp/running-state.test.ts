import { describe, expect, test } from 'vitest';
import { Chain, type ChainStep } from '../../src/dsp/core/chain.ts';
import type { KeySignal } from '../../src/dsp/core/processor.ts';
import { processorOf, processors } from '../../src/dsp/core/registry.ts';
import { restoreState, stateBytes, stateOf } from '../../src/dsp/core/running-state.ts';
import { straight } from '../../src/dsp/core/gain-matrix.ts';
import { Strip, type StripSpec } from '../../src/dsp/core/strip.ts';
import { firstDifference, noise, run, stepOf, through } from '../helpers/chains.ts';
import { cornersOf, randomCorners, sameLatency } from '../helpers/corners.ts';
import { seeded } from '../helpers/signals.ts';
import { casesOf, sampleOf } from '../helpers/soak.ts';

// DESIGN.md, idea 5: a running strip's state is data. Cut anywhere, sent as a message is, and put into a fresh one, the rest of the
// output is equal bit for bit.

const FRAMES = 9000;
const INPUT = noise(FRAMES, 71, 0.7);
const KEY = noise(FRAMES, 72, 0.5);

const part = ({ left, right }: KeySignal, from: number, to: number): KeySignal => ({
  left: left.subarray(from, to),
  right: right.subarray(from, to),
});

/** The output from frame `cut` on of a fresh chain that takes over there. */
const takenOver = (steps: readonly ChainStep[], cut: number): KeySignal => {
  const first = new Chain(steps, 48_000, 1000);
  run(first, part(INPUT, 0, cut), [61, 128, 1000], part(KEY, 0, cut));
  const sent = structuredClone(stateOf(first));
  // What ran on in the meantime does not reach what was sent.
  run(first, part(INPUT, 0, 500), [128], part(KEY, 0, 500));
  const second = new Chain(steps, 48_000, 1000);
  restoreState(second, sent);
  return run(second, part(INPUT, cut, FRAMES), [100, 7, 1000], part(KEY, cut, FRAMES));
};

const wholeOf = (steps: readonly ChainStep[], cut: number): KeySignal =>
  part(through(steps, INPUT, 48_000, KEY), cut, FRAMES);

describe.each([...processors.values()].map((processor) => [processor.id, processor] as const))(
  '%s',
  (id, processor) => {
    const corners = [...sampleOf(cornersOf(processor), 6), ...randomCorners(processor, casesOf(4, 16), 91)];

    test('hands its state over at any sample', () => {
      const random = seeded(id.length);
      for (const settings of corners) {
        const cut = 1 + Math.floor(random() * (FRAMES - 2));
        const steps = [{ ...stepOf(id, settings), wetDry: { wet: 0.6, law: 'equal power' as const } }];
        const said = `cut at ${cut} ${JSON.stringify(settings)}`;
        expect(firstDifference(takenOver(steps, cut), wholeOf(steps, cut)), said).toBe(null);
      }
    });

    test('hands it over while settings are on their way', () => {
      const [to] = randomCorners(processor, 1, 17);
      const aim = stepOf(id, sameLatency(processor, to!, processor.start)).values;
      const running = new Chain([stepOf(id, processor.start)], 48_000, 1000);
      run(running, part(INPUT, 0, 3000), [128], part(KEY, 0, 3000));
      running.set(0, aim);
      run(running, part(INPUT, 3000, 3333), [128], part(KEY, 3000, 3333));
      const fresh = new Chain([stepOf(id, processor.start)], 48_000, 1000);
      restoreState(fresh, structuredClone(stateOf(running)));
      const rest = [part(INPUT, 3333, FRAMES), [128], part(KEY, 3333, FRAMES)] as const;
      expect(firstDifference(run(fresh, ...rest), run(running, ...rest))).toBe(null);
    });

    test('is small: what a reverb holds in its lines, several seconds of 16, is the most', () => {
      const chain = new Chain([stepOf(id, processorOf(id).start)], 48_000, 128);
      expect(stateBytes(stateOf(chain))).toBeLessThan(24e6);
    });
  },
);

test('a split hands over what runs in it and beside it', () => {
  const steps: ChainStep[] = [
    stepOf('limiter'),
    {
      split: [stepOf('compressor', { threshold: -30 }), stepOf('delay', { time: 40 })],
      wetDry: { wet: 0.4, law: 'linear' },
    },
    stepOf('eq', { 'band1.on': true, 'band1.gain': 6 }),
  ];
  for (const cut of [1, 4097, 8999])
    expect(firstDifference(takenOver(steps, cut), wholeOf(steps, cut)), `cut at ${cut}`).toBe(null);
});

test('a strip hands over its delays, its key and where its sound ends', () => {
  const spec: StripSpec = {
    inputs: [
      { gains: straight(0.7), delay: 130 },
      { gains: straight(-0.4), delay: 0 },
    ],
    keyInputs: [{ gains: straight(1), delay: 777 }],
    steps: [stepOf('compressor', { threshold: -40, key: 'external' }), stepOf('reverb', { decay: 1 })],
    soundEnd: 4000,
  };
  const single = (samples: Float64Array): Float32Array => Float32Array.from(samples);
  const inputs = [[single(INPUT.left), single(INPUT.right)], [single(KEY.left)], [single(INPUT.right)]];
  const runStrip = (strip: Strip, from: number, to: number, block: number): Float32Array[] => {
    const out = [new Float32Array(FRAMES), new Float32Array(FRAMES)] as [Float32Array, Float32Array];
    for (let at = from; at < to; at += block) strip.process(inputs, ...out, at, Math.min(block, to - at));
    return out.map((side) => side.subarray(from, to));
  };
  const whole = runStrip(new Strip(spec, 48_000, 512), 0, FRAMES, 512);
  for (const cut of [129, 3999, 4001, 7013]) {
    const first = new Strip(spec, 48_000, 512);
    runStrip(first, 0, cut, 300);
    const second = new Strip(spec, 48_000, 512);
    restoreState(second, structuredClone(stateOf(first)));
    const rest = runStrip(second, cut, FRAMES, 64);
    for (const [n, side] of rest.entries()) expect(side).toEqual(whole[n]!.subarray(cut));
  }
});

describe('what a state is made of', () => {
  class Node {
    next: Node | null = null;
    constructor(public level: number) {}
    twice(): number {
      return 2 * this.level;
    }
  }

  class Machine {
    readonly list = [new Node(1), new Node(2)] as const;
    readonly samples = new Float64Array(8);
    now: Node = this.list[0];
    before: Node = this.list[1];
    window = new Float64Array(0);
  }

  test('what was shared stays shared, and rings close', () => {
    const running = new Machine();
    [running.list[0].next, running.list[1].next] = [running.list[1], running.list[0]];
    running.now = running.list[1];
    running.list[1].level = 5;
    running.window = running.samples.subarray(2, 5);
    const fresh = new Machine();
    restoreState(fresh, structuredClone(stateOf(running)));
    expect(fresh.now).toBe(fresh.list[1]);
    expect(fresh.now.twice()).toBe(10);
    expect(fresh.now.next).toBe(fresh.list[0]);
    fresh.samples[3] = 7;
    expect([...fresh.window]).toEqual([0, 7, 0]);
    expect([...running.window]).toEqual([0, 0, 0]);
  });

  test('two that have changed places', () => {
    const running = new Machine();
    [running.now, running.before] = [running.before, running.now];
    const fresh = new Machine();
    restoreState(fresh, stateOf(running));
    expect([fresh.now.level, fresh.before.level]).toEqual([2, 1]);
    expect(fresh.now).toBe(fresh.list[1]);
  });

  test('what would be lost is refused', () => {
    expect(() => stateOf({ known: new Map() })).toThrow('Map: a running state holds');
  });
});
