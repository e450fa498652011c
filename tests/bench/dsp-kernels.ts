import type { StereoSound } from '../../src/audio/audio.ts';
import { Chain } from '../../src/dsp/core/chain.ts';
import { type Settings, valuesFrom } from '../../src/dsp/core/parameter.ts';
import { processorOf, processors } from '../../src/dsp/core/registry.ts';
import { seeded } from '../helpers/signals.ts';

// What the bench runs, bundled for Node and for a page alike.

export const RATE = 48_000;
/** Frames given to a chain at once: those of the browser. */
const BLOCK = 128;

/** All processors by id. */
export const ids = (): string[] => [...processors.keys()];

/** Two channels of swelling noise, left and right half in common; always the same. */
export function soundOf(seconds: number): StereoSound {
  const random = seeded(3);
  const frames = RATE * seconds;
  const left = new Float32Array(frames);
  const right = new Float32Array(frames);
  for (let n = 0; n < frames; n++) {
    const swell = 0.4 * Math.exp((-8 * (n % (RATE / 4))) / RATE);
    const common = random() - 0.5;
    left[n] = swell * (common + random() - 0.5);
    right[n] = swell * (common + random() - 0.5);
  }
  return { hash: `noise of ${seconds} s`, left, right };
}

/** Two seconds of dying noise, for what works with an impulse response. */
function impulseResponse(): StereoSound {
  const { hash, left, right } = soundOf(2);
  const dying = (side: Float32Array): Float32Array => side.map((x, n) => x * 10 ** ((-3 * n) / (2 * RATE)));
  return { hash: `dying ${hash}`, left: dying(left), right: dying(right) };
}

/**
 * Seconds that one processor takes for the sound, its kernel new.
 * @param now a clock, seconds
 */
export function secondsFor(
  id: string,
  settings: Settings,
  { left, right }: StereoSound,
  now = () => performance.now() / 1000,
): number {
  const processor = processorOf(id);
  const values = valuesFrom(processor.parameters, { ...processor.start, ...settings });
  const step = { processor: id, values, ...(processor.sound === undefined ? {} : { sound: impulseResponse() }) };
  const chain = new Chain([step], RATE, BLOCK);
  const a = new Float64Array(BLOCK);
  const b = new Float64Array(BLOCK);
  const start = now();
  for (let at = 0; at + BLOCK <= left.length; at += BLOCK) {
    for (let i = 0; i < BLOCK; i++) {
      a[i] = left[at + i]!;
      b[i] = right[at + i]!;
    }
    chain.process(a, b, BLOCK);
  }
  return now() - start;
}
