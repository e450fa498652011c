import type { Absorption } from '../reverb/absorbing-line.ts';
import { arrivalBeside, SPREAD } from '../core/arrival.ts';
import { characters, type RoomCharacter } from '../reverb/room-character.ts';
import { choice, hertz, milliseconds, percent, seconds } from '../core/parameter-builders.ts';
import { clearAll, controlAll, type Memory, type Part, resetAll } from '../core/parts.ts';
import { CONTROL_FRAMES, defineProcessor } from '../core/processor.ts';
import { cutCorners, CutFilters, HIGH_CUT_OFF, LOW_CUT_OFF } from '../filters/cut-filters.ts';
import { decayHandles } from '../reverb/decay-handles.ts';
import { decibelsOf } from '../../audio/decibels.ts';
import { Diffuser, diffuserDelay, diffuserPower } from '../reverb/diffuser.ts';
import { DirectBlocker } from '../filters/direct-blocker.ts';
import { earlyLength, EarlyReflections } from '../reverb/early-reflections.ts';
import { FeedbackNetwork } from '../reverb/feedback-network.ts';
import { highCut, lowCut } from '../filters/cut-parameters.ts';
import { MAX_DEPTH, type Room, wayLengths } from '../reverb/room-lines.ts';
import { Mixer } from '../core/mixer.ts';
import { networkPower } from '../reverb/network-power.ts';
import { onePoleTail } from '../filters/one-pole.ts';
import { PreDelay, preDelayParameter } from '../delay/pre-delay.ts';
import { Ramp } from '../core/ramp.ts';
import { SteepCuts, steepCutTail, type SteepOrder } from '../filters/steep-cuts.ts';
import { signSeed } from '../reverb/tap-signs.ts';
import { StereoMatrix } from '../core/stereo-matrix.ts';
import { UNHEARD } from '../core/silence-gate.ts';
import type { Values } from '../core/parameter.ts';
import { wetEffect, type WetSound } from '../core/wet-effect.ts';
import { wholeSamplesIn } from '../core/time.ts';

/** Corner of the high-pass before the network, Hz: a steady level would otherwise pile up in it. */
const DIRECT_HZ = 10;
/** Level at which a tail ends; 15 dB are reserved for tones at a resonance. */
const TAIL_DB = 135;
const PICTURE_SECONDS = 4;
const PICTURE_FLOOR_DB = -60;

const NAMES = Object.keys(characters) as readonly (keyof typeof characters)[];
const CHARACTERS: readonly RoomCharacter[] = Object.values(characters);
const STEEP_ORDERS = [0, 2, 4] as const;

const parameters = {
  character: choice('Character', NAMES, {
    default: 'plate',
    about:
      'Plate is dense from the start; room, chamber and hall begin with early reflections and have their own sizes.',
  }),
  decay: seconds('Decay', [0.1, 20], { default: 1.5, about: 'Time in which the reverberation falls by 60 dB.' }),
  size: percent('Size', [10, 100], {
    default: 50,
    about: 'Size of the space: small is dense early, large sounds wider and builds up later.',
  }),
  preDelay: preDelayParameter('Delay between the direct sound and the reverberation.'),
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
  signs: signSeed(NAMES[values.character]!, values.size / 100, values.decay),
});

/** Settings of the network. */
const OF_ROOM = [
  'character',
  'decay',
  'size',
  'damping',
  'dampingFrequency',
  'dampingShape',
  'lowDecay',
  'lowFrequency',
  'modulation',
  'rate',
] as const;

/** Power gain of diffuser and network for pink noise. */
const powerOf = (values: ReverbValues, sampleRate: number): number =>
  networkPower(roomOf(values), sampleRate) * diffuserPower(diffusionOf(values), values.decay);

/**
 * Pre-delay, diffusion by all-passes, a feedback delay network, first reflections beside them, cuts, width. The level of the wet sound is set so that
 * steady pink noise comes out as loud as it went in, whatever the decay, size and damping (before the cuts).
 */
class ReverbWet implements WetSound<typeof parameters> {
  private readonly blocker: DirectBlocker;
  private readonly preDelay: PreDelay;
  private readonly diffuser: Diffuser;
  private readonly network: FeedbackNetwork;
  private readonly early: EarlyReflections;
  private readonly earlyGain: Ramp;
  private readonly roomGain: Ramp;
  private readonly cuts: CutFilters;
  private readonly steepCuts: SteepCuts;
  private readonly output: StereoMatrix;
  /** Current settings of the network: it is not set again when other settings move. */
  private readonly known = new Float64Array(OF_ROOM.length);
  private diffusion: number;
  /** Power gain of both. */
  private power: number;
  private readonly memories: readonly (Part & Memory)[];
  private readonly parts: readonly Part[];
  private readonly roomLeft = new Float64Array(CONTROL_FRAMES);
  private readonly roomRight = new Float64Array(CONTROL_FRAMES);
  private readonly earlyLeft = new Float64Array(CONTROL_FRAMES);
  private readonly earlyRight = new Float64Array(CONTROL_FRAMES);

  constructor(
    values: ReverbValues,
    private readonly sampleRate: number,
  ) {
    this.blocker = new DirectBlocker(true, DIRECT_HZ, sampleRate);
    this.preDelay = new PreDelay(values.preDelay, sampleRate);
    this.diffuser = new Diffuser(diffusionOf(values), values.decay, sampleRate);
    this.knows(values);
    this.diffusion = values.diffusion;
    this.power = powerOf(values, sampleRate);
    this.network = new FeedbackNetwork(roomOf(values), sampleRate);
    const patterns = CHARACTERS.map(({ early }) => early);
    this.early = new EarlyReflections(patterns, values.character, values.size / 100, sampleRate);
    this.earlyGain = new Ramp(0, sampleRate);
    this.roomGain = new Ramp(1, sampleRate);
    this.cuts = new CutFilters(values.lowCut, values.highCut, sampleRate);
    this.steepCuts = new SteepCuts(values.lowCut, values.highCut, steepOrderOf(values), sampleRate);
    this.output = new StereoMatrix(sampleRate);
    const { blocker, preDelay, diffuser, network, early, cuts, steepCuts } = this;
    this.memories = [blocker, preDelay, diffuser, network, early, cuts, steepCuts];
    this.parts = [...this.memories, this.earlyGain, this.roomGain, this.output];
  }

  set(values: ReverbValues): void {
    this.setRoom(values);
    this.preDelay.set(values.preDelay);
    this.early.set(values.character, values.size / 100);
    this.setCuts(values);
    const { power } = this;
    const share = earlyShareOf(values);
    this.roomGain.set(Math.sqrt(1 - share));
    this.earlyGain.set(Math.sqrt(share * power));
    // The two sides are uncorrelated, so (1 + w) / 2 of one and (1 - w) / 2 of the other have (1 + w^2) / 2 of its power.
    const width = values.width / 100;
    const level = Math.sqrt(2 / ((1 + width * width) * power));
    const own = (level * (1 + width)) / 2;
    const other = (level * (1 - width)) / 2;
    this.output.set(own, other, other, own);
  }

  control(): void {
    controlAll(this.parts);
  }

  get silent(): boolean {
    return this.preDelay.silent && this.network.peak < UNHEARD && this.early.peak < UNHEARD;
  }

  process(left: Float64Array, right: Float64Array, count: number, position: number): void {
    const { roomLeft, roomRight } = this;
    this.blocker.process(left, right, count, position);
    this.preDelay.process(left, right, count, position);
    this.early.process(left, right, this.earlyLeft, this.earlyRight, count, position);
    this.diffuser.process(left, right, count, position);
    this.network.process(left, right, roomLeft, roomRight, count, position);
    this.addEarly(count, position);
    this.cuts.process(roomLeft, roomRight, count, position);
    this.steepCuts.process(roomLeft, roomRight, count, position);
    left.fill(0, 0, count);
    right.fill(0, 0, count);
    this.output.add(roomLeft, roomRight, 0, left, right, count, position);
  }

  clear(): void {
    clearAll(this.memories);
  }

  reset(): void {
    resetAll(this.parts);
  }

  /** A network that is set crossfades its taps, which takes twice the time. */
  private setRoom(values: ReverbValues): void {
    const same = this.knows(values);
    if (same && values.diffusion === this.diffusion) return;
    this.diffuser.set(diffusionOf(values), values.decay);
    if (!same) this.network.set(roomOf(values));
    this.diffusion = values.diffusion;
    this.power = powerOf(values, this.sampleRate);
  }

  /** Whether the network is set to these; from now on it is. */
  private knows(values: ReverbValues): boolean {
    let same = true;
    for (let n = 0; n < OF_ROOM.length; n++) {
      const value = values[OF_ROOM[n]!];
      if (value !== this.known[n]) same = false;
      this.known[n] = value;
    }
    return same;
  }

  private setCuts(values: ReverbValues): void {
    const order = steepOrderOf(values);
    const plain = order === 0;
    this.cuts.set(plain ? values.lowCut : LOW_CUT_OFF, plain ? values.highCut : HIGH_CUT_OFF);
    this.steepCuts.set(values.lowCut, values.highCut, order);
  }

  /** Early reflections take their share of the power from the late reverberation. */
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

/** Latency and tail of each part in series. */
const tailOf = (values: ReverbValues, sampleRate: number): number => {
  if (values.mix === 0) return 0;
  const { decay, lowDecay } = values;
  const { span, early } = characterOf(values);
  const size = values.size / 100;
  const slowest = decay * Math.max(1, lowDecay / 100);
  const network = Math.max(...wayLengths({ size, span }, sampleRate)) + (TAIL_DB / 60) * slowest * sampleRate;
  const order = steepOrderOf(values);
  const cutTail = (hz: number): number =>
    order === 0 ? onePoleTail(hz, TAIL_DB, sampleRate) : steepCutTail(hz, order, TAIL_DB, sampleRate);
  return (
    wholeSamplesIn(values.preDelay, sampleRate) +
    Math.max(
      diffuserDelay(diffusionOf(values), decay, sampleRate) + Math.ceil(network),
      earlyLength(early, size, sampleRate),
    ) +
    cutCorners(values).reduce((sum, hz) => sum + cutTail(hz), onePoleTail(DIRECT_HZ, TAIL_DB, sampleRate))
  );
};

/** Level at which the reverberation begins, dB. */
const topOf = ({ mix }: ReverbValues): number => Math.max(PICTURE_FLOOR_DB, decibelsOf(mix / 100));

/** The decay as a straight line in dB, from the pre-delay on. */
const decayOf = (values: ReverbValues): readonly (readonly [number, number])[] => {
  const { decay, preDelay } = values;
  const from = preDelay / 1000;
  const top = topOf(values);
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
    handles: (values) => decayHandles(values, topOf(values), PICTURE_FLOOR_DB),
  },
  createKernel: (values, sampleRate) =>
    wetEffect(new ReverbWet(values, sampleRate), new Mixer('linear', 0, sampleRate), values),
});
