import { butterworthQ, limitHz } from './band-design.ts';
import { angleOf, COEFFICIENTS, type Coefficients, designAllPass, designLowCut } from './biquad.ts';
import { flushVanished } from './one-pole.ts';
import { runOne, Section } from './section.ts';

/** All-passes in series, evenly spaced from the first to the last frequency on a logarithmic line: 3.6 an octave. */
const COUNT = 24;
const FIRST_HZ = 150;
const LAST_HZ = 16000;
/** So damped that the delay falls evenly with frequency: about 4.8 periods. */
const ALL_PASS_Q = 3;
/** Corner of the low cut (24 dB/oct, Butterworth): below the first all-pass the copy would be the sound itself. */
const LOW_CUT_HZ = 150;
const LOW_CUT_ORDER = 4;

const allPassHz = (index: number): number => FIRST_HZ * (LAST_HZ / FIRST_HZ) ** (index / (COUNT - 1));

/** All sections in series: the low cut, then the all-passes. */
const sectionsAt = (sampleRate: number): readonly Coefficients[] => {
  const section = (hz: number, design: (into: Coefficients, angle: number) => void): Coefficients => {
    const into = new Float64Array(COEFFICIENTS);
    design(into, angleOf(limitHz(hz, sampleRate), sampleRate));
    return into;
  };
  return [
    ...[0, 1].map((index) =>
      section(LOW_CUT_HZ, (into, angle) => designLowCut(into, angle, butterworthQ(LOW_CUT_ORDER, index))),
    ),
    ...Array.from({ length: COUNT }, (_, index) =>
      section(allPassHz(index), (into, angle) => designAllPass(into, angle, ALL_PASS_Q)),
    ),
  ];
};

/**
 * A copy of a sound with the same level at every frequency above the low cut and nothing in common with it: its phase
 * turns 3.6 times an octave, so that in every third of an octave what the two share adds up to little. Added to one side
 * and taken from the other it makes one sound wide (Schroeder 1958, with all-passes in place of his delay); the mono fold
 * does not hear it at all.
 */
export class Decorrelator {
  private readonly lowCuts: readonly Section[];
  /** Two numbers an all-pass: a1 and a2, which are also its b1 and b0. */
  private readonly turns = new Float64Array(2 * COUNT);
  /** Two memories an all-pass. */
  private readonly state = new Float64Array(2 * COUNT);

  constructor(sampleRate: number) {
    const sections = sectionsAt(sampleRate);
    this.lowCuts = sections.slice(0, -COUNT).map((coefficients) => {
      const section = new Section();
      section.jump(coefficients);
      return section;
    });
    sections.slice(-COUNT).forEach((coefficients, index) => {
      this.turns[2 * index] = coefficients[3]!;
      this.turns[2 * index + 1] = coefficients[4]!;
    });
  }

  /** Frames 0..count-1 in place. */
  process(samples: Float64Array, count: number): void {
    for (const section of this.lowCuts) runOne(section, 'left', samples, 0, count, 0);
    for (let index = 0; index < COUNT; index += 2) this.turnTwice(index, samples, count);
  }

  flush(): void {
    for (const section of this.lowCuts) section.flush();
    flushVanished(this.state);
  }

  clear(): void {
    for (const section of this.lowCuts) section.clear();
    this.state.fill(0);
  }

  /** Two all-passes in one pass: one waits for its memory while the other works. */
  private turnTwice(index: number, samples: Float64Array, count: number): void {
    const { turns, state } = this;
    const at = 2 * index;
    const [a1, a2, c1, c2] = [turns[at]!, turns[at + 1]!, turns[at + 2]!, turns[at + 3]!];
    let [s1, s2, t1, t2] = [state[at]!, state[at + 1]!, state[at + 2]!, state[at + 3]!];
    for (let i = 0; i < count; i++) {
      const x = samples[i]!;
      const y = a2 * x + s1;
      const z = c2 * y + t1;
      s1 = a1 * (x - y) + s2;
      s2 = x - a2 * y;
      t1 = c1 * (y - z) + t2;
      t2 = y - c2 * z;
      samples[i] = z;
    }
    state[at] = s1;
    state[at + 1] = s2;
    state[at + 2] = t1;
    state[at + 3] = t2;
  }
}

/** Longest response that is looked at, seconds; it has died away after half of this. */
const LONGEST_SECONDS = 0.25;
/** What all later samples of the response add up to at most, once the tail is over. */
const REMAINDER = 1e-7;
/** The most that the decorrelator raises a peak: the sum of the sizes of its response, 14.7 at 44.1 kHz to 16.5 at 192 kHz. */
export const DECORRELATOR_PEAK = 17;

const tails = new Map<number, number>();

/** Samples until the rest of the decorrelator's response is 140 dB down, from the response itself. */
export const decorrelatorTail = (sampleRate: number): number => {
  const known = tails.get(sampleRate);
  if (known !== undefined) return known;
  const response = new Float64Array(Math.ceil(LONGEST_SECONDS * sampleRate));
  response[0] = 1;
  new Decorrelator(sampleRate).process(response, response.length);
  let frames = response.length;
  for (let rest = 0; frames > 0 && rest < REMAINDER; frames--) rest += Math.abs(response[frames - 1]!);
  tails.set(sampleRate, frames + 1);
  return frames + 1;
};
