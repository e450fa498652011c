import { choice, decibels } from '../core/parameter-builders.ts';
import { defineProcessor, type Kernel } from '../core/processor.ts';
import { decibelsOf, gainOf } from '../../audio/decibels.ts';
import { Ramp } from '../core/ramp.ts';
import { transferPicture } from '../core/pictures.ts';
import type { Values } from '../core/parameter.ts';

const parameters = {
  gain: decibels('Gain', [-60, 24], { about: 'Raises or lowers the level.' }),
  polarity: choice('Polarity', ['normal', 'inverted', 'left inverted', 'right inverted'], {
    about: 'Inverts the polarity of both channels or of one.',
  }),
};

type GainValues = Values<typeof parameters>;

const leftGain = ({ gain, polarity }: GainValues): number => gainOf(gain) * (polarity === 1 || polarity === 2 ? -1 : 1);
const rightGain = ({ gain, polarity }: GainValues): number =>
  gainOf(gain) * (polarity === 1 || polarity === 3 ? -1 : 1);

/** Input sample of the gain's handle, which leaves 12 dB above it. */
const GAIN_AT = 0.25;

class GainKernel implements Kernel<typeof parameters> {
  private readonly left: Ramp;
  private readonly right: Ramp;

  constructor(values: GainValues, sampleRate: number) {
    this.left = new Ramp(leftGain(values), sampleRate);
    this.right = new Ramp(rightGain(values), sampleRate);
  }

  set(values: GainValues): void {
    this.left.set(leftGain(values));
    this.right.set(rightGain(values));
  }

  control(): void {
    this.left.control();
    this.right.control();
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    let gainLeft = this.left.value;
    let gainRight = this.right.value;
    const stepLeft = this.left.step;
    const stepRight = this.right.step;
    for (let i = start; i < end; i++) {
      left[i]! *= gainLeft;
      right[i]! *= gainRight;
      gainLeft += stepLeft;
      gainRight += stepRight;
    }
    this.left.value = gainLeft;
    this.right.value = gainRight;
  }

  reset(): void {
    this.left.reset();
    this.right.reset();
  }
}

export const processor = defineProcessor({
  id: 'gain',
  label: 'Gain',
  about: 'Level and polarity.',
  parameters,
  start: {},
  latency: () => 0,
  tail: () => 0,
  // With one side inverted the other keeps its polarity.
  arrival: ({ polarity }) => ({ lagSamples: 0, polarity: polarity === 1 ? -1 : 1 }),
  picture: transferPicture<typeof parameters>(
    (values) => {
      const gain = leftGain(values);
      return [
        [-1, -gain],
        [1, gain],
      ];
    },
    (values) => {
      const y = GAIN_AT * leftGain(values);
      const { min } = parameters.gain;
      const at = (place: number): number => (place * y > 0 ? decibelsOf(Math.abs(place) / GAIN_AT) : min);
      return [{ id: 'gain', label: 'Gain', x: GAIN_AT, y, up: { parameter: 'gain', at } }];
    },
  ),
  createKernel: (values, sampleRate) => new GainKernel(values, sampleRate),
});
