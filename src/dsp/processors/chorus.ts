import { choice, hertz, milliseconds, percent } from '../core/parameter-builders.ts';
import { CONTROL_FRAMES } from '../core/processor.ts';
import { copyParameters } from '../delay/copy-parameters.ts';
import { defineVoices } from '../delay/define-voices.ts';
import { MAX_VOICES, type VoiceMotion, type VoiceSettings } from '../delay/voice-bank.ts';
import { Ramp } from '../core/ramp.ts';
import { samplesIn } from '../core/time.ts';
import { sineLfo, triangleLfo } from '../delay/lfo.ts';
import type { Values } from '../core/parameter.ts';

const MAX_DELAY_MS = 30;
const MAX_DEPTH_MS = 5;
/** Smoothing of the movement: a quick change of it would be a quick change of pitch. */
const MOVE_SECONDS = 0.3;
/**
 * Differences between the voices: starting phase of the LFO (turns), its speed and its delay, as parts of the settings.
 * LFOs run in opposite phase in pairs, so that the average pitch does not change.
 */
const VOICES = [
  { phase: 0, speed: 1, delay: 1 },
  { phase: 0.5, speed: 1, delay: 1.27 },
  { phase: 0.25, speed: 0.77, delay: 1.83 },
  { phase: 0.75, speed: 0.77, delay: 1.51 },
] as const;
const LONGEST_DELAY = 1.83;

const parameters = {
  voices: choice('Voices', ['1', '2', '3', '4'], {
    default: '2',
    about: 'Number of delayed copies; the LFOs of each pair run in opposite phase.',
  }),
  lfo: choice('LFO shape', ['sine', 'triangle'], {
    about: 'Sine: the pitch moves all the time. Triangle: a steady detune, alternately up and down.',
  }),
  rate: hertz('Rate', [0.02, 8], { default: 0.6, digits: 2, about: 'LFO rate; the second pair runs at 77 % of it.' }),
  depth: milliseconds('Depth', [0, MAX_DEPTH_MS], {
    default: 1.5,
    digits: 2,
    about: 'LFO depth: change of the delay to either side of its centre; 1 ms at 0.6 Hz is up to 6.5 cents.',
  }),
  delay: milliseconds('Delay', [2, MAX_DELAY_MS], {
    default: 8,
    digits: 1,
    about: 'Shortest delay of the first voice; the others are delayed longer.',
  }),
  feedback: percent('Feedback', [0, 50], { about: 'Share of the voices that is fed back.' }),
  ...copyParameters,
};

type ChorusValues = Values<typeof parameters>;

const settingsFor = (values: ChorusValues, sampleRate: number): VoiceSettings => ({
  count: values.voices + 1,
  delays: VOICES.map(({ delay }) => delay * samplesIn(values.delay, sampleRate)),
  spread: values.spread / 100,
  feedback: values.feedback / 100,
  lowCut: values.lowCut,
  highCut: values.highCut,
  mix: values.mix / 100,
});

/** Each delay + depth (1 + LFO). */
class ChorusMotion implements VoiceMotion<typeof parameters> {
  readonly offsets = new Float64Array(MAX_VOICES);
  readonly levels = new Float64Array(MAX_VOICES).fill(1);
  readonly longest: number;
  private readonly depth: Ramp;
  private readonly triangle: Ramp;
  private readonly phases = new Float64Array(MAX_VOICES);
  private rate = 0;

  constructor(private readonly sampleRate: number) {
    this.longest = samplesIn(LONGEST_DELAY * MAX_DELAY_MS + 2 * MAX_DEPTH_MS, sampleRate);
    this.depth = new Ramp(0, sampleRate, MOVE_SECONDS);
    this.triangle = new Ramp(0, sampleRate, MOVE_SECONDS);
  }

  settingsFor(values: ChorusValues): VoiceSettings {
    return settingsFor(values, this.sampleRate);
  }

  set(values: ChorusValues): void {
    this.depth.set(samplesIn(values.depth, this.sampleRate));
    this.triangle.set(values.lfo);
    this.rate = values.rate;
  }

  control(): void {
    const turn = (CONTROL_FRAMES * this.rate) / this.sampleRate;
    for (let index = 0; index < MAX_VOICES; index++)
      this.phases[index] = (this.phases[index]! + turn * VOICES[index]!.speed) % 1;
    this.depth.control();
    this.triangle.control();
    this.move();
  }

  reset(): void {
    for (let index = 0; index < MAX_VOICES; index++) this.phases[index] = VOICES[index]!.phase;
    this.depth.reset();
    this.triangle.reset();
    this.move();
  }

  private move(): void {
    const { phases, offsets } = this;
    const depth = this.depth.end;
    const triangle = this.triangle.end;
    for (let index = 0; index < MAX_VOICES; index++) {
      const sine = sineLfo(phases[index]!);
      offsets[index] = depth * (1 + sine + triangle * (triangleLfo(phases[index]!) - sine));
    }
  }
}

export const processor = defineVoices({
  id: 'chorus',
  label: 'Chorus',
  about: 'Short delays that an LFO moves, spread across the stereo field: chorus, or a slow detune.',
  parameters,
  start: { depth: 1.5, lowCut: 150, mix: 40 },
  pictureSeconds: 0.07,
  movedBy: 'depth',
  settingsFor,
  movementFor: ({ depth }, sampleRate) => samplesIn(2 * depth, sampleRate),
  createMotion: (sampleRate) => new ChorusMotion(sampleRate),
});
