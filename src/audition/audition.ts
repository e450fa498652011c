import { AudioContext } from 'standardized-audio-context';
import { Context, Gain, ToneAudioBuffer, connect } from 'tone';
import { chainLatency } from '../dsp/core/chain.ts';
import { gainOf } from '../audio/decibels.ts';
import { straight } from '../dsp/core/gain-matrix.ts';
import type { StripSpec } from '../dsp/core/strip.ts';
import { textOf } from '../render/content-hash.ts';
import type { PlanMixBus } from '../render/plan.ts';
import { STRIP_PROCESSOR, type StripMessage, type StripNodeOptions } from '../render/strip-node.ts';
import stripWorkletUrl from '../render/strip.worklet.ts?worker&url';
import { Deck, FADE_SECONDS, type Voice } from './deck.ts';
import { leftOut, soundingOf, type Heard, type Sounding } from './heard.ts';
import { lengthened } from './play-buffer.ts';
import { startingPoint, type Loop } from './position.ts';

/** Rendered sound to listen to, all at one rate and starting with the song. */
export interface Material {
  readonly sampleRate: number;
  /** Length of what is played, seconds. */
  readonly seconds: number;
  readonly rough: AudioBuffer | null;
  readonly received: AudioBuffer | null;
  /** Rendered paths by id; what is new is a new object. */
  readonly paths: ReadonlyMap<string, AudioBuffer>;
  readonly mixBus: PlanMixBus;
  /** Printed passes by id, the mix bus behind them. */
  readonly passes: ReadonlyMap<string, AudioBuffer>;
}

/** The monitor starts this quiet, dB: nothing ever starts loud. */
export const FIRST_MONITOR_DB = -24;

/** Ramp time of a switch or a blend, seconds. */
const MOVE_SECONDS = 0.03;
/** Head start given to a new deck or a move, so that all that belongs together begins at one moment, seconds. */
const HEAD_START = 0.03;
/** A deck whose nodes stood ready only this short before its start may have begun in pieces, seconds. */
const SAFE_START = 0.015;
/** No longer head start than this is tried, seconds. */
const LONGEST_START = 1;
/** A masked switch fades to silence and back, each over this time, seconds. */
const VEIL_SECONDS = 0.02;

/** The chain of the mix bus; its trim is a gain in front of it. */
const mixBusSpec = ({ steps }: Pick<PlanMixBus, 'steps'>): StripSpec => ({
  inputs: [{ gains: straight(1), delay: 0 }],
  keyInputs: [],
  steps,
});

/** Where each gain was last sent. */
const targets = new WeakMap<Gain, number>();

/** Ramps a gain from the moment `at`; one that is on its way there, or there already, is left alone. */
const moveTo = (node: Gain, value: number, at: number): void => {
  if (targets.get(node) === value) return;
  targets.set(node, value);
  node.gain.rampTo(value, MOVE_SECONDS, at);
};

/** Disconnects the gains whose names are not in `kept`, after their sound has faded. */
const letGo = <Name extends string>(gains: Map<Name, Gain>, kept: (name: Name) => boolean): void => {
  for (const [name, gain] of gains) {
    if (kept(name)) continue;
    gains.delete(name);
    setTimeout(() => gain.dispose(), 2000);
  }
};

/**
 * Live listening to rendered sound: the paths, each at its blend, summed and run through the mix bus chain in the
 * same worklet that renders; beside them the rough, the tracks as received and printed passes. All of them run at all
 * times; switching is a gain, so it is instant and in time, and each side is turned down to one loudness.
 */
export class Audition {
  private readonly context: Context;
  private readonly buffers = new WeakMap<AudioBuffer, ToneAudioBuffer>();
  private readonly blends = new Map<string, Gain>();
  private readonly sides = new Map<Sounding, Gain>();
  private readonly mixSum: Gain;
  private readonly fold: Gain;
  private readonly veil: Gain;
  private readonly volume: Gain;
  private readonly mixBusNode: AudioWorkletNode;
  private mixBus: PlanMixBus | null = null;
  private mixBusSteps = '';
  private mixBusLatency = 0;
  /** Gains of the paths as the mix has them. */
  private gains: ReadonlyMap<string, number> = new Map();
  private matchDb: ReadonlyMap<Heard, number> = new Map();
  private heard: Heard = 'mix';
  private material: Material | null = null;
  private deck: Deck | null = null;
  private restAt = 0;
  private loop: Loop | null = null;

  private constructor(
    readonly sampleRate: number,
    context: Context,
    /** Called when playing ends by itself at the end of the song. */
    private readonly onEnd: () => void,
  ) {
    this.context = context;
    context.lookAhead = HEAD_START;
    const gain = (value: number): Gain => new Gain({ context, gain: value });
    this.mixSum = gain(1);
    this.fold = gain(1);
    this.veil = gain(1);
    this.volume = gain(gainOf(FIRST_MONITOR_DB));
    this.fold.channelCountMode = 'explicit';
    this.mixBusNode = context.createAudioWorkletNode(STRIP_PROCESSOR, {
      numberOfInputs: 1,
      outputChannelCount: [2],
      channelCount: 2,
      channelCountMode: 'explicit',
      processorOptions: { spec: mixBusSpec({ steps: [] }) } satisfies StripNodeOptions,
    });
    connect(this.mixSum, this.mixBusNode);
    this.fold.connect(this.veil);
    this.veil.connect(this.volume);
    connect(this.mixBusNode, this.sideOf('mix'));
    this.moveSides();
    connect(this.volume, context.rawContext.destination);
  }

  /** Opens the sound card at `sampleRate` (Hz). Rejects when the browser has no audio worklet (an insecure address). */
  static async open(sampleRate: number, onEnd: () => void): Promise<Audition> {
    const context = new Context(new AudioContext({ sampleRate, latencyHint: 'interactive' }));
    await context.addAudioWorkletModule(stripWorkletUrl);
    return new Audition(sampleRate, context, onEnd);
  }

  get playing(): boolean {
    return this.deck !== null;
  }

  /** Takes new sound in place of the old; what plays goes on at the same place. */
  load(material: Material): void {
    this.material = material;
    for (const id of material.paths.keys()) this.blendOf(id);
    this.gains = new Map([...this.gains].filter(([id]) => material.paths.has(id)));
    letGo(this.blends, (id) => material.paths.has(id));
    const passes = new Set([...material.passes.keys()].map((id) => `pass:${id}` as const));
    letGo(this.sides, (side) => !side.startsWith('pass:') || passes.has(side as `pass:${string}`));
    if (!this.setMixBus(material.mixBus)) this.goOn();
  }

  private blendOf(id: string): Gain {
    const blend = this.blends.get(id) ?? new Gain({ context: this.context, gain: 0 }).connect(this.mixSum);
    this.blends.set(id, blend);
    return blend;
  }

  private sideOf(side: Sounding): Gain {
    const gain = this.sides.get(side) ?? new Gain({ context: this.context, gain: 0 }).connect(this.fold);
    this.sides.set(side, gain);
    return gain;
  }

  /** Trim and chain of the mix bus, heard at once. True when its latency changed, which moves the other sides along. */
  setMixBus(mixBus: PlanMixBus): boolean {
    const isSame = mixBus.steps === this.mixBus?.steps && mixBus.trimGain === this.mixBus.trimGain;
    this.mixBus = mixBus;
    if (isSame) return false;
    moveTo(this.mixSum, mixBus.trimGain, this.context.now());
    const steps = textOf(mixBus.steps);
    if (steps === this.mixBusSteps) return false;
    this.mixBusSteps = steps;
    this.mixBusNode.port.postMessage({ spec: mixBusSpec(mixBus) } satisfies StripMessage);
    const latency = chainLatency(mixBus.steps, this.sampleRate) / this.sampleRate;
    if (latency === this.mixBusLatency) return false;
    this.mixBusLatency = latency;
    this.goOn();
    return true;
  }

  /** Gains of the paths by id, linear; moves at once. */
  setBlends(gains: ReadonlyMap<string, number>): void {
    this.gains = new Map([...this.gains, ...gains]);
    this.moveSides();
  }

  /**
   * Which side is heard from now on. `veiled`: the switch goes through a short silence, whatever it leads to, so that the
   * way of switching tells nothing of the sides.
   */
  hear(heard: Heard, veiled = false): void {
    this.heard = heard;
    const at = this.context.now();
    if (veiled) {
      this.veil.gain.rampTo(0, VEIL_SECONDS, at);
      this.veil.gain.rampTo(1, VEIL_SECONDS, at + VEIL_SECONDS + MOVE_SECONDS);
    }
    this.moveSides(veiled ? at + VEIL_SECONDS : at);
  }

  /** How far each side is turned down so that all are equally loud, dB; a side that is not named is not turned down. */
  setMatch(db: ReadonlyMap<Heard, number>): void {
    this.matchDb = new Map(db);
    this.moveSides();
  }

  /** Ramps every gain to its value for the side that is heard, all from one moment on. */
  private moveSides(at = this.context.now()): void {
    const { heard } = this;
    const sounding = soundingOf(heard);
    const level = gainOf(this.matchDb.get(heard) ?? 0);
    this.sideOf(sounding);
    for (const [side, node] of this.sides) moveTo(node, side === sounding ? level : 0, at);
    for (const [id, gain] of this.gains) moveTo(this.blendOf(id), id === leftOut(heard) ? 0 : gain, at);
  }

  /** Level of the monitor, dB. */
  setMonitor(db: number): void {
    this.volume.gain.rampTo(gainOf(db), MOVE_SECONDS);
  }

  /** Folds what is heard to mono, half of left plus right on both sides. */
  setMono(on: boolean): void {
    this.fold.channelCount = on ? 1 : 2;
  }

  setLoop(loop: Loop | null): void {
    this.loop = loop && loop.endSeconds > loop.startSeconds ? loop : null;
    this.goOn();
  }

  async play(): Promise<void> {
    if (this.deck || !this.material) return;
    await this.context.resume();
    this.jump(() => this.restAt);
  }

  pause(): void {
    this.restAt = this.position();
    this.deck?.end(this.context.rawContext.currentTime);
    this.deck = null;
  }

  seek(seconds: number): void {
    if (this.deck) this.jump(() => seconds);
    else this.restAt = seconds;
  }

  /** Where playing is, or would start, seconds. */
  position(): number {
    return this.deck?.positionAt(this.context.rawContext.currentTime) ?? this.restAt;
  }

  /** Starts a deck with the new sound at the next sample. */
  private goOn(): void {
    const { deck } = this;
    if (deck) this.jump((time) => deck.positionAt(time));
  }

  /**
   * Starts a deck, fading over from the one that plays; `placeAt` says where in the song it is to be, by when it is heard.
   * All voices must hear of their start before it comes:
   * one that does not starts late, and is out of step with the others. So buffers are filled before the clock is looked
   * at, and a deck that stood ready too late on a busy machine is made again, further ahead.
   */
  private jump(placeAt: (time: number) => number): void {
    const { material, deck: old } = this;
    if (!material) return;
    const clock = this.context.rawContext;
    const late = this.mixBusLatency;
    const onFrame = (seconds: number): number => Math.round(seconds * this.sampleRate) / this.sampleRate;
    const voices = this.voices(material);
    for (let ahead = HEAD_START; ; ahead *= 2) {
      const startAt = clock.currentTime + ahead;
      const from = startingPoint(onFrame(placeAt(startAt + late)), material.seconds, this.loop);
      const deck = new Deck(this.context, voices, startAt, from, this.loop, late, () => this.ended());
      if (clock.currentTime < startAt - SAFE_START || ahead >= LONGEST_START) {
        old?.end(startAt, late);
        this.deck = deck;
        break;
      }
      deck.drop();
    }
    this.moveSides();
  }

  private ended(): void {
    this.deck?.end(this.context.rawContext.currentTime);
    this.deck = null;
    this.restAt = 0;
    this.onEnd();
  }

  private voices({ rough, received, paths, passes, seconds }: Material): Voice[] {
    const voice = (buffer: AudioBuffer, into: Gain, isThroughMixBus = false): Voice => ({
      buffer: this.bufferOf(buffer, Math.ceil(seconds * buffer.sampleRate)),
      into,
      endSeconds: seconds,
      isThroughMixBus,
    });
    return [
      ...[...paths].map(([id, buffer]) => voice(buffer, this.blendOf(id), true)),
      ...(received ? [voice(received, this.sideOf('received'))] : []),
      ...(rough ? [voice(rough, this.sideOf('rough'))] : []),
      ...[...passes].map(([id, buffer]) => voice(buffer, this.sideOf(`pass:${id}`))),
    ];
  }

  private bufferOf(buffer: AudioBuffer, frames: number): ToneAudioBuffer {
    const known = this.buffers.get(buffer);
    if (known && known.length >= frames) return known;
    const wrapped = new ToneAudioBuffer(lengthened(buffer, frames));
    this.buffers.set(buffer, wrapped);
    return wrapped;
  }

  /** Stops and lets go of the sound card. */
  async dispose(): Promise<void> {
    this.pause();
    await new Promise((resolve) => setTimeout(resolve, 1000 * FADE_SECONDS));
    this.context.dispose();
    await (this.context.rawContext as unknown as { close(): Promise<void> }).close().catch(() => {});
  }
}
