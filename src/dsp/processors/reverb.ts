import { samplesIn, wholeSamplesIn } from '../core/time.ts';
import { highCut, lowCut } from '../filters/cut-parameters.ts';
import { arrivalBeside, SPREAD } from '../core/arrival.ts';
import type { Absorption } from '../reverb/absorbing-line.ts';
import { CutFilters, HIGH_CUT_OFF, LOW_CUT_OFF } from '../filters/cut-filters.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { Diffuser, diffuserDelay, diffuserPower } from '../reverb/diffuser.ts';
import { DirectBlocker } from '../filters/direct-blocker.ts';
import { EarlyReflections, earlyLength } from '../reverb/early-reflections.ts';
import { fadeToWet } from '../core/fade-to-wet.ts';
import { FadingTap } from '../delay/fading-tap.ts';
import { FeedbackNetwork } from '../reverb/feedback-network.ts';
import { onePoleTail } from '../filters/one-pole.ts';
import { choice, hertz, milliseconds, percent, seconds } from '../core/parameter-builders.ts';
import type { Values } from '../core/parameter.ts';
import { CONTROL_FRAMES, defineProcessor, type Kernel } from '../core/processor.ts';
import { Ramp } from '../core/ramp.ts';
import { Ring } from '../core/ring.ts';
import { characters, type RoomCharacter } from '../reverb/room-character.ts';
import { networkPower } from '../reverb/network-power.ts';
import { MAX_DEPTH, type Room, wayLengths } from '../reverb/room-lines.ts';
import { SilenceGate, UNHEARD } from '../core/silence-gate.ts';
import { SteepCuts, steepCutTail, type SteepOrder } from '../filters/steep-cuts.ts';
import { StereoMatrix } from '../core/stereo-matrix.ts';

const MAX_PRE_DELAY_MS = 1000;
/** Corner of the high-pass before the network, Hz: a steady level would otherwise pile up in it. */
const DIRECT_HZ = 10;
/** Where a tail ends; 15 dB are reserved for tones that meet a resonance. */
const TAIL_DB = 135;
const PICTURE_SECONDS = 4;
const PICTURE_FLOOR_DB = -60;

const CHARACTERS: readonly RoomCharacter[] = Object.values(characters);
const STEEP_ORDERS = [0, 2, 4] as const;

const parameters = {
  character: choice('Character', Object.keys(characters), {
    default: 'plate',
    about:
      'Plate is dense from the start; room, chamber and hall begin with early reflections and have their own sizes.',
  }),
  decay: seconds('Decay', [0.1, 20], { default: 1.5, about: 'Time in which the reverberation falls by 60 dB.' }),
  size: percent('Size', [10, 100], {
    default: 50,
    about: 'Size of the space: small is dense early, large sounds wider and builds up later.',
  }),
  preDelay: milliseconds('Pre-delay', [0, MAX_PRE_DELAY_MS], {
    digits: 1,
    noteValues: true,
    about: 'Delay between the direct sound and the reverberation.',
  }),
  damping: percent('Damping', [0, 90], { about: 'Shortens the decay of the highs by this share; off at 0 %.' }),
  dampingFrequency: hertz('Damping frequency', [500, 16000], {
    default: 5000,
    about: 'Frequency at which the damping has half its effect.',
  }),
  dampingShape: choice('Damping shape', ['level', 'falling'], {
    about:
      'Level: all highs well above the damping frequency decay equally. Falling: the higher the frequency, the shorter the decay, as in air.',
  }),
  lowDecay: percent('Low decay', [25, 200], {
    default: 100,
    about: 'Decay of the lows relative to the rest: longer is warmer, shorter is thinner; 100 % is equal.',
  }),
  lowFrequency: hertz('Low decay below', [60, 1000], {
    default: 250,
    about: 'Frequency at which the low decay has half its effect.',
  }),
  early: percent('Early reflections', [0, 100], {
    default: 25,
    about: 'Share of the power in early reflections, in room, chamber and hall.',
  }),
  diffusion: percent('Diffusion', [0, 100], {
    default: 100,
    about: 'Density of the first echoes; at high values short sounds do not flutter.',
  }),
  modulation: milliseconds('Modulation', [0, 1000 * MAX_DEPTH], {
    digits: 2,
    about: 'Depth of slow modulation of the echoes, which keeps long decays from ringing; off at 0 ms.',
  }),
  rate: hertz('Modulation rate', [0.05, 5], { default: 0.5, digits: 2, about: 'Rate of the modulation.' }),
  width: percent('Width', [0, 100], {
    default: 100,
    about: '0 % is mono, 100 % uncorrelated left and right; the level does not change.',
  }),
  lowCut: lowCut('Takes lows out of the reverberation; off at 20 Hz.'),
  highCut: highCut('Takes highs out of the reverberation; off at 20 kHz.'),
  cutSlope: choice('Cut slope', ['6 dB/oct', '12 dB/oct', '24 dB/oct'], { about: 'How steeply both cuts fall.' }),
  mix: percent('Mix', [0, 100], { about: 'Share of the reverb; the rest is the dry sound. 100 % on a bus.' }),
};

type ReverbValues = Values<typeof parameters>;

const characterOf = ({ character }: ReverbValues): RoomCharacter => CHARACTERS[character]!;
const diffusionOf = (values: ReverbValues): number => (values.diffusion / 100) * characterOf(values).diffusion;
const steepOrderOf = ({ cutSlope }: ReverbValues): SteepOrder => STEEP_ORDERS[cutSlope]!;
/** Share of the power in first reflections, 0..1. */
const earlyShareOf = (values: ReverbValues): number =>
  characterOf(values).early.length === 0 ? 0 : values.early / 100;

const absorptionOf = (values: ReverbValues): Absorption => ({
  decay: values.decay,
  highs: 1 - values.damping / 100,
  turnHz: values.dampingFrequency,
  falling: values.dampingShape === 1,
  lows: values.lowDecay / 100,
  lowTurnHz: values.lowFrequency,
});

const roomOf = (values: ReverbValues): Room => ({
  ...absorptionOf(values),
  size: values.size / 100,
  depth: values.modulation / 1000,
  rate: values.rate,
  span: characterOf(values).span,
});

const preDelayOf = ({ preDelay }: ReverbValues, sampleRate: number): number => wholeSamplesIn(preDelay, sampleRate);

/**
 * Pre-delay, diffusion by all-passes, a feedback delay network, first reflections beside them, cuts, width. The level of the wet sound is set so that
 * steady pink noise comes out as loud as it went in, whatever the decay, size and damping (before the cuts).
 */
class ReverbKernel implements Kernel<typeof parameters> {
  private readonly blocker: DirectBlocker;
  private readonly ringLeft: Ring;
  private readonly ringRight: Ring;
  private readonly preDelay: FadingTap;
  private readonly diffuser: Diffuser;
  private readonly network: FeedbackNetwork;
  private readonly early: EarlyReflections;
  private readonly earlyGain: Ramp;
  private readonly roomGain: Ramp;
  private readonly cuts: CutFilters;
  private readonly steepCuts: SteepCuts;
  private readonly output: StereoMatrix;
  private readonly mix: Ramp;
  private readonly gate = new SilenceGate();
  private readonly sendLeft = new Float64Array(CONTROL_FRAMES);
  private readonly sendRight = new Float64Array(CONTROL_FRAMES);
  private readonly roomLeft = new Float64Array(CONTROL_FRAMES);
  private readonly roomRight = new Float64Array(CONTROL_FRAMES);
  private readonly earlyLeft = new Float64Array(CONTROL_FRAMES);
  private readonly earlyRight = new Float64Array(CONTROL_FRAMES);
  /** Frames of the control block already done. */
  private position = 0;

  constructor(
    values: ReverbValues,
    private readonly sampleRate: number,
  ) {
    const capacity = Math.ceil(samplesIn(MAX_PRE_DELAY_MS, sampleRate)) + CONTROL_FRAMES;
    this.blocker = new DirectBlocker(true, DIRECT_HZ, sampleRate);
    this.ringLeft = new Ring(capacity);
    this.ringRight = new Ring(capacity);
    this.preDelay = new FadingTap(preDelayOf(values, sampleRate), sampleRate);
    this.diffuser = new Diffuser(diffusionOf(values), values.decay, sampleRate);
    this.network = new FeedbackNetwork(roomOf(values), sampleRate);
    const patterns = CHARACTERS.map(({ early }) => early);
    this.early = new EarlyReflections(patterns, values.character, values.size / 100, sampleRate);
    this.earlyGain = new Ramp(0, sampleRate);
    this.roomGain = new Ramp(1, sampleRate);
    this.cuts = new CutFilters(values.lowCut, values.highCut, sampleRate);
    this.steepCuts = new SteepCuts(values.lowCut, values.highCut, steepOrderOf(values), sampleRate);
    this.output = new StereoMatrix(sampleRate);
    this.mix = new Ramp(0, sampleRate);
    this.set(values);
    this.reset();
  }

  set(values: ReverbValues): void {
    const room = roomOf(values);
    this.preDelay.set(preDelayOf(values, this.sampleRate));
    this.diffuser.set(diffusionOf(values), values.decay);
    this.network.set(room);
    this.early.set(values.character, room.size);
    this.setCuts(values);
    this.mix.set(values.mix / 100);
    const power = networkPower(room, this.sampleRate) * diffuserPower(diffusionOf(values), values.decay);
    const share = earlyShareOf(values);
    this.roomGain.set(Math.sqrt(1 - share));
    this.earlyGain.set(Math.sqrt(share * power));
    // The two sides have nothing in common, so (1 + w) / 2 of one and (1 - w) / 2 of the other have (1 + w^2) / 2 of its power.
    const width = values.width / 100;
    const level = Math.sqrt(2 / ((1 + width * width) * power));
    const own = (level * (1 + width)) / 2;
    const other = (level * (1 - width)) / 2;
    this.output.set(own, other, other, own);
  }

  control(): void {
    this.position = 0;
    this.blocker.control();
    this.preDelay.control();
    this.diffuser.control();
    this.network.control();
    this.early.control();
    this.earlyGain.control();
    this.roomGain.control();
    this.cuts.control();
    this.steepCuts.control();
    this.output.control();
    this.mix.control();
    if (this.gate.due() && this.peak < UNHEARD) {
      this.clear();
      this.gate.sleep();
    }
  }

  process(left: Float64Array, right: Float64Array, start: number, end: number): void {
    const { sendLeft, sendRight, position } = this;
    const count = end - start;
    this.position = position + count;
    if (this.gate.rests(left, right, start, end)) return;
    for (let i = 0; i < count; i++) {
      sendLeft[i] = left[start + i]!;
      sendRight[i] = right[start + i]!;
    }
    this.reverberate(count, position);
    fadeToWet(left, right, start, count, sendLeft, sendRight, this.mix, position);
  }

  reset(): void {
    this.clear();
    this.blocker.reset();
    this.preDelay.reset();
    this.diffuser.reset();
    this.network.reset();
    this.early.reset();
    this.earlyGain.reset();
    this.roomGain.reset();
    this.cuts.reset();
    this.steepCuts.reset();
    this.output.reset();
    this.mix.reset();
    this.gate.reset();
    this.position = 0;
  }

  private get peak(): number {
    return Math.max(this.ringLeft.peak, this.ringRight.peak, this.network.peak, this.early.peak);
  }

  private setCuts(values: ReverbValues): void {
    const order = steepOrderOf(values);
    const plain = order === 0;
    this.cuts.set(plain ? values.lowCut : LOW_CUT_OFF, plain ? values.highCut : HIGH_CUT_OFF);
    this.steepCuts.set(values.lowCut, values.highCut, order);
  }

  private clear(): void {
    this.blocker.clear();
    this.ringLeft.clear();
    this.ringRight.clear();
    this.diffuser.clear();
    this.network.clear();
    this.early.clear();
    this.cuts.clear();
    this.steepCuts.clear();
  }

  /** Turns the dry sound in the send buffers into the wet one. */
  private reverberate(count: number, position: number): void {
    const { sendLeft, sendRight, roomLeft, roomRight, preDelay } = this;
    this.blocker.process(sendLeft, sendRight, count, position);
    this.ringLeft.write(sendLeft, count);
    this.ringRight.write(sendRight, count);
    preDelay.read(this.ringLeft, sendLeft, count, position, count);
    preDelay.read(this.ringRight, sendRight, count, position, count);
    this.early.process(sendLeft, sendRight, this.earlyLeft, this.earlyRight, count, position);
    this.diffuser.process(sendLeft, sendRight, count, position);
    this.network.process(sendLeft, sendRight, roomLeft, roomRight, count, position);
    this.addEarly(count, position);
    this.cuts.process(roomLeft, roomRight, count, position);
    this.steepCuts.process(roomLeft, roomRight, count, position);
    sendLeft.fill(0, 0, count);
    sendRight.fill(0, 0, count);
    this.output.add(roomLeft, roomRight, 0, sendLeft, sendRight, count, position);
  }

  /** First reflections take their share of the power from what follows them. */
  private addEarly(count: number, position: number): void {
    const { early, earlyGain, roomGain, earlyLeft, earlyRight, roomLeft, roomRight } = this;
    if (early.silent && roomGain.settled && roomGain.value === 1) return;
    for (let i = 0; i < count; i++) {
      const room = roomGain.value + roomGain.step * (position + i);
      const gain = earlyGain.value + earlyGain.step * (position + i);
      roomLeft[i] = room * roomLeft[i]! + gain * earlyLeft[i]!;
      roomRight[i] = room * roomRight[i]! + gain * earlyRight[i]!;
    }
  }
}

/** What each part holds back or rings on, one after another. */
const tailOf = (values: ReverbValues, sampleRate: number): number => {
  if (values.mix === 0) return 0;
  const { decay, lowDecay, lowCut, highCut } = values;
  const { span, early } = characterOf(values);
  const size = values.size / 100;
  const slowest = decay * Math.max(1, lowDecay / 100);
  const network = Math.max(...wayLengths({ size, span }, sampleRate)) + (TAIL_DB / 60) * slowest * sampleRate;
  const order = steepOrderOf(values);
  const cutTail = (hz: number): number =>
    order === 0 ? onePoleTail(hz, TAIL_DB, sampleRate) : steepCutTail(hz, order, TAIL_DB, sampleRate);
  const cuts = [...(lowCut > LOW_CUT_OFF ? [lowCut] : []), ...(highCut < HIGH_CUT_OFF ? [highCut] : [])];
  return (
    preDelayOf(values, sampleRate) +
    Math.max(
      diffuserDelay(diffusionOf(values), decay, sampleRate) + Math.ceil(network),
      earlyLength(early, size, sampleRate),
    ) +
    cuts.reduce((sum, hz) => sum + cutTail(hz), onePoleTail(DIRECT_HZ, TAIL_DB, sampleRate))
  );
};

/** The decay as a straight line in dB, from the pre-delay on. */
const decayOf = ({ decay, preDelay, mix }: ReverbValues): readonly (readonly [number, number])[] => {
  const from = preDelay / 1000;
  const top = Math.max(PICTURE_FLOOR_DB, decibelsOf(mix / 100));
  const end = from + (decay * (top - PICTURE_FLOOR_DB)) / 60;
  return [
    [0, PICTURE_FLOOR_DB],
    [from, PICTURE_FLOOR_DB],
    [from, top],
    [end, PICTURE_FLOOR_DB],
    [Math.max(end, PICTURE_SECONDS), PICTURE_FLOOR_DB],
  ];
};

export const processor = defineProcessor({
  id: 'reverb',
  label: 'Reverb',
  about: 'Reverb: plate, room, chamber or hall.',
  parameters,
  start: { decay: 1.8, preDelay: 20, damping: 40, modulation: 0.2, lowCut: 150, mix: 25 },
  latency: () => 0,
  tail: tailOf,
  arrival: ({ mix }) => arrivalBeside(SPREAD, { wet: mix / 100, law: 'linear' }),
  picture: {
    kind: 'time',
    x: [0, PICTURE_SECONDS],
    y: [PICTURE_FLOOR_DB, 0],
    drawn: 'area',
    points: (values) => decayOf(values),
  },
  createKernel: (values, sampleRate) => new ReverbKernel(values, sampleRate),
});
