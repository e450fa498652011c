import { cents, choice, decibels, milliseconds } from '../core/parameter-builders.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { copyParameters } from '../delay/copy-parameters.ts';
import { defineVoices } from '../delay/define-voices.ts';
import { gainOf } from '../../audio/decibels.ts';
import { MAX_VOICES, type VoiceMotion, type VoiceSettings } from '../delay/voice-bank.ts';
import { Ramp } from '../core/ramp.ts';
import { samplesIn } from '../core/time.ts';
import type { Values } from '../core/parameter.ts';
import { wanderAt } from '../delay/wander.ts';

const MAX_DELAY_MS = 60;
const MAX_DRIFT_CENTS = 30;
/** Seconds between random points of the drift: about as slow as the timing of a second take varies. */
const WANDER_SECONDS = 0.8;
/** Smoothing of the drift: a quick move would be a quick change of pitch. */
const DRIFT_SECONDS = 0.3;
/** Delay of each copy as a part of the setting. */
const DELAYS = [1, 1.31, 1.83, 1.57] as const;
const LONGEST_DELAY = 1.83;

const parameters = {
  copies: choice('Copies', ['1', '2', '3', '4'], { default: '2', about: 'Number of copies.' }),
  delay: milliseconds('Delay', [5, MAX_DELAY_MS], {
    default: 18,
    digits: 1,
    about: 'Shortest delay of the first copy; the others are delayed longer.',
  }),
  drift: cents('Drift', [0, MAX_DRIFT_CENTS], {
    default: 12,
    about: 'Largest detune of a copy while its delay changes; usually about a quarter of it.',
  }),
  levelDrift: decibels('Level drift', [0, 6], {
    default: 2,
    about: 'Largest change in level of a copy over time, up or down.',
  }),
  ...copyParameters,
};

type DoublerValues = Values<typeof parameters>;

/**
 * Largest deviation of a copy's delay from its middle for a drift in cents, samples. A delay that grows by s seconds a
 * second plays at 1 - s times the speed, and the wandering moves by less than 2 in `WANDER_SECONDS`: so the copy is flat
 * by the drift at the very most, and sharp by less.
 */
const wanderSamples = (cents: number, sampleRate: number): number =>
  ((1 - 2 ** (-cents / 1200)) * WANDER_SECONDS * sampleRate) / 2;

const settingsFor = (values: DoublerValues, sampleRate: number): VoiceSettings => ({
  count: values.copies + 1,
  delays: DELAYS.map((part) => part * samplesIn(values.delay, sampleRate)),
  spread: values.spread / 100,
  feedback: 0,
  lowCut: values.lowCut,
  highCut: values.highCut,
  mix: values.mix / 100,
});

/**
 * Copies whose delay and level wander slowly, each by its own random line, which is the same in every run: nothing is
 * transposed, cut into grains or spliced, so the only change of pitch is the drift.
 *
 * Folded to mono, two copies of a mono sound at full spread add up as sounds that have nothing in common: with a mix m the
 * fold keeps ((1 - m)^2 + m^2 / 2) / ((1 - m)^2 + m^2) of a side's power on average over frequency, -1.25 dB at 50 % and
 * -3.01 dB at 100 %, the most there is; three or four copies lose less. Single frequencies comb, and move.
 */
class DoublerMotion implements VoiceMotion<typeof parameters> {
  readonly offsets = new Float64Array(MAX_VOICES);
  readonly levels = new Float64Array(MAX_VOICES);
  readonly longest: number;
  private readonly wander: Ramp;
  private levelDrift = 0;
  /** Control blocks done since the beginning. */
  private blocks = 0;

  constructor(private readonly sampleRate: number) {
    this.longest = samplesIn(LONGEST_DELAY * MAX_DELAY_MS, sampleRate) + 2 * wanderSamples(MAX_DRIFT_CENTS, sampleRate);
    this.wander = new Ramp(0, sampleRate, DRIFT_SECONDS);
  }

  settingsFor(values: DoublerValues): VoiceSettings {
    return settingsFor(values, this.sampleRate);
  }

  set(values: DoublerValues): void {
    this.wander.set(wanderSamples(values.drift, this.sampleRate));
    this.levelDrift = values.levelDrift;
  }

  control(): void {
    this.blocks++;
    this.wander.control();
    this.move();
  }

  reset(): void {
    this.blocks = 0;
    this.wander.reset();
    this.move();
  }

  private move(): void {
    const { offsets, levels, levelDrift } = this;
    const at = (this.blocks * CONTROL_FRAMES) / (WANDER_SECONDS * this.sampleRate);
    for (let index = 0; index < MAX_VOICES; index++) {
      offsets[index] = this.wander.end * (1 + wanderAt(2 * index, at));
      levels[index] = gainOf(levelDrift * wanderAt(2 * index + 1, at));
    }
  }
}

export const processor = defineVoices({
  id: 'doubler',
  label: 'Doubler',
  about: 'Imitates further takes of the same part: copies whose delay and level drift, panned to the sides.',
  parameters,
  start: { lowCut: 120, mix: 35 },
  pictureSeconds: 0.12,
  movedBy: 'drift',
  settingsFor,
  movementFor: ({ drift }, sampleRate) => 2 * wanderSamples(drift, sampleRate),
  createMotion: (sampleRate) => new DoublerMotion(sampleRate),
});
