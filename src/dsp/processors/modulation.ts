import { copyParameters } from '../delay/copy-parameters.ts';
import type { Values } from '../core/parameter.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { evenSwing, steadySwing } from '../delay/swing.ts';
import { MAX_VOICES, VoiceBank, type VoiceSettings } from '../delay/voice-bank.ts';
import { voiceStems, voiceArrival, voiceTail } from '../delay/voice-figures.ts';

const MAX_DELAY_MS = 30;
const MAX_DEPTH_MS = 5;
/** Smoothing of the movement: a quick change of it would be a quick change of pitch. */
const MOVE_SECONDS = 0.3;
/**
 * What tells the voices apart: where each begins in its swing (turns), its speed and its delay, as parts of the settings.
 * The first two, and the other two, swing against each other, so that the pitch of the whole stays where it is.
 */
const VOICES = [
  { phase: 0, speed: 1, delay: 1 },
  { phase: 0.5, speed: 1, delay: 1.27 },
  { phase: 0.25, speed: 0.77, delay: 1.83 },
  { phase: 0.75, speed: 0.77, delay: 1.51 },
] as const;
const LONGEST_DELAY = 1.83;
const PICTURE_SECONDS = 0.07;
const PICTURE_FLOOR_DB = -36;

const parameters = {
  voices: {
    kind: 'choice',
    label: 'Voices',
    about: 'Number of copies; each two swing against each other.',
    choices: ['1', '2', '3', '4'],
    default: '2',
  },
  swing: {
    kind: 'choice',
    label: 'Swing',
    about: 'Even swings like a pendulum; steady holds the pitch a little up, then a little down: a slow detune.',
    choices: ['even', 'steady'],
    default: 'even',
  },
  rate: {
    kind: 'number',
    label: 'Rate',
    about: 'How often the copies swing to and fro; the second pair is slower by a quarter.',
    unit: 'Hz',
    min: 0.02,
    max: 8,
    default: 0.6,
    scale: 'logarithmic',
    digits: 2,
  },
  depth: {
    kind: 'number',
    label: 'Depth',
    about: 'How far the delay swings to either side of its middle; 1 ms at 0.6 Hz is up to 6.5 cents of pitch.',
    unit: 'ms',
    min: 0,
    max: MAX_DEPTH_MS,
    default: 1.5,
    scale: 'linear',
    digits: 2,
  },
  delay: {
    kind: 'number',
    label: 'Delay',
    about: 'The nearest that the first copy comes to the sound; the others stay further behind.',
    unit: 'ms',
    min: 2,
    max: MAX_DELAY_MS,
    default: 8,
    scale: 'logarithmic',
    digits: 1,
  },
  feedback: {
    kind: 'number',
    label: 'Feedback',
    about: 'Share of the copies that is copied again.',
    unit: '%',
    min: 0,
    max: 50,
    default: 0,
    scale: 'linear',
    digits: 0,
  },
  ...copyParameters,
} as const;

type ModulationValues = Values<typeof parameters>;

const samplesOf = (ms: number, sampleRate: number): number => (ms * sampleRate) / 1000;

const settingsOf = (values: ModulationValues, sampleRate: number): VoiceSettings => ({
  count: values.voices + 1,
  delays: VOICES.map(({ delay }) => delay * samplesOf(values.delay, sampleRate)),
  spread: values.spread / 100,
  feedback: values.feedback / 100,
  lowCut: values.lowCut,
  highCut: values.highCut,
  mix: values.mix / 100,
});

/** Copies whose delays swing: each delay + depth (1 + swing). */
class ModulationKernel implements Kernel<typeof parameters> {
  private readonly bank: VoiceBank;
  private readonly depth: Ramp;
  private readonly steady: Ramp;
  private readonly phases = new Float64Array(MAX_VOICES);
  private readonly offsets = new Float64Array(MAX_VOICES);
  private readonly levels = new Float64Array(MAX_VOICES).fill(1);
  private rate = 0;

  constructor(
    values: ModulationValues,
    private readonly sampleRate: number,
  ) {
    const longest = samplesOf(LONGEST_DELAY * MAX_DELAY_MS + 2 * MAX_DEPTH_MS, sampleRate);
    this.bank = new VoiceBank(longest, settingsOf(values, sampleRate), sampleRate);
    this.depth = new Ramp(0, sampleRate, MOVE_SECONDS);
    this.steady = new Ramp(0, sampleRate, MOVE_SECONDS);
    this.set(values);
    this.reset();
  }

  set(values: ModulationValues): void {
    this.bank.set(settingsOf(values, this.sampleRate));
    this.depth.set(samplesOf(values.depth, this.sampleRate));
    this.steady.set(values.swing);
    this.rate = values.rate;
  }

  control(): void {
    const turn = (CONTROL_FRAMES * this.rate) / this.sampleRate;
    for (let index = 0; index < MAX_VOICES; index++)
      this.phases[index] = (this.phases[index]! + turn * VOICES[index]!.speed) % 1;
    this.depth.control();
    this.steady.control();
    this.swing();
    this.bank.control(this.offsets, this.levels);
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    this.bank.process(left, right, start, end);
  }

  reset(): void {
    for (let index = 0; index < MAX_VOICES; index++) this.phases[index] = VOICES[index]!.phase;
    this.depth.reset();
    this.steady.reset();
    this.swing();
    this.bank.reset(this.offsets, this.levels);
  }

  /** Where the voices are in their swing. */
  private swing(): void {
    const { phases, offsets } = this;
    const depth = this.depth.end;
    const steady = this.steady.end;
    for (let index = 0; index < MAX_VOICES; index++) {
      const even = evenSwing(phases[index]!);
      offsets[index] = depth * (1 + even + steady * (steadySwing(phases[index]!) - even));
    }
  }
}

const movementOf = ({ depth }: ModulationValues, sampleRate: number): number => samplesOf(2 * depth, sampleRate);

export const processor = defineProcessor({
  id: 'modulation',
  label: 'Modulation',
  about: 'Copies that swing a little behind the sound and across the field: chorus, or a slow detune.',
  parameters,
  start: { depth: 1.5, lowCut: 150, mix: 40 },
  latency: () => 0,
  tail: (values, sampleRate) => voiceTail(settingsOf(values, sampleRate), movementOf(values, sampleRate), sampleRate),
  arrival: (values, sampleRate) => voiceArrival(settingsOf(values, sampleRate), movementOf(values, sampleRate)),
  picture: {
    kind: 'time',
    x: [0, PICTURE_SECONDS],
    y: [PICTURE_FLOOR_DB, 0],
    drawn: 'stems',
    points: (values, sampleRate) =>
      voiceStems(settingsOf(values, sampleRate), movementOf(values, sampleRate), PICTURE_FLOOR_DB, sampleRate),
  },
  createKernel: (values, sampleRate) => new ModulationKernel(values, sampleRate),
});
