import { AudioContext } from 'standardized-audio-context';
import { Context, Gain, ToneAudioBuffer, connect } from 'tone';
import type { Audio } from '../dsp/audio.ts';
import { chainLatency } from '../dsp/chain.ts';
import { gainOf } from '../dsp/decibels.ts';
import { straight } from '../dsp/gain-matrix.ts';
import type { StripSpec } from '../dsp/strip.ts';
import type { PlanMixBus } from '../render/plan.ts';
import { STRIP_PROCESSOR, type StripMessage, type StripNodeOptions } from '../render/strip-node.ts';
import stripWorkletUrl from '../render/strip.worklet.ts?worker&url';
import { Deck, FADE_SECONDS, type Voice } from './deck.ts';
import { positionAfter, startingPoint, type Loop } from './position.ts';

/** What can be heard against each other. */
export type Heard = 'rough' | 'received' | 'mix';

/** Rendered sound to listen to, all at one rate and starting with the song. */
export interface Material {
  readonly sampleRate: number;
  /** Length of what is played, seconds. */
  readonly seconds: number;
  readonly rough: Audio | null;
  readonly received: Audio | null;
  /** Rendered paths by id; what is new is a new object. */
  readonly paths: ReadonlyMap<string, Audio>;
  readonly mixBus: PlanMixBus;
}

/** The monitor starts this quiet, dB: nothing ever starts loud. */
export const FIRST_MONITOR_DB = -24;

/** Time for a switch or a blend to move, seconds. */
const MOVE_SECONDS = 0.03;
/** Head start given to a new deck, so that all its voices are ready at their common moment, seconds. */
const HEAD_START = 0.03;

const mixBusSpec = ({ trimGain, steps }: PlanMixBus): StripSpec => ({
  inputs: [{ gains: straight(trimGain), delay: 0 }],
  keyInputs: [],
  steps,
});

/**
 * Live listening to rendered sound: the paths, each at its blend, summed and run through the mix bus chain in the
 * same worklet that renders; beside them the rough and the tracks as received. Switching is a gain, so it is instant
 * and in time; each side is turned down to one loudness.
 */
export class Audition {
  private readonly context: Context;
  private readonly buffers = new WeakMap<Audio, ToneAudioBuffer>();
  private readonly blends = new Map<string, Gain>();
  private readonly sides: Readonly<Record<Heard, Gain>>;
  private readonly mixSum: Gain;
  private readonly fold: Gain;
  private readonly volume: Gain;
  private readonly mixBusNode: AudioWorkletNode;
  private mixBusSteps = '';
  private mixBusLatency = 0;
  private readonly matchDb: Record<Heard, number> = { rough: 0, received: 0, mix: 0 };
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
    const gain = (value: number): Gain => new Gain({ context, gain: value });
    this.mixSum = gain(1);
    this.sides = { rough: gain(0), received: gain(0), mix: gain(1) };
    this.fold = gain(1);
    this.volume = gain(gainOf(FIRST_MONITOR_DB));
    this.fold.channelCountMode = 'explicit';
    this.mixBusNode = context.createAudioWorkletNode(STRIP_PROCESSOR, {
      numberOfInputs: 1,
      outputChannelCount: [2],
      channelCount: 2,
      channelCountMode: 'explicit',
      processorOptions: { spec: mixBusSpec({ trimGain: 1, steps: [] }) } satisfies StripNodeOptions,
    });
    connect(this.mixSum, this.mixBusNode);
    connect(this.mixBusNode, this.sides.mix);
    for (const side of Object.values(this.sides)) side.connect(this.fold);
    this.fold.connect(this.volume);
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
    for (const [id, blend] of this.blends) {
      if (material.paths.has(id)) continue;
      this.blends.delete(id);
      setTimeout(() => blend.dispose(), 2000);
    }
    this.setMixBus(material.mixBus);
    if (this.deck) this.jump(this.position());
  }

  private blendOf(id: string): Gain {
    const blend = this.blends.get(id) ?? new Gain({ context: this.context, gain: 0 }).connect(this.mixSum);
    this.blends.set(id, blend);
    return blend;
  }

  /** Trim and chain of the mix bus, heard at once; a change of its latency moves the other sides along. */
  setMixBus(mixBus: PlanMixBus): void {
    const steps = JSON.stringify(mixBus);
    if (steps === this.mixBusSteps) return;
    this.mixBusSteps = steps;
    this.mixBusNode.port.postMessage({ spec: mixBusSpec(mixBus) } satisfies StripMessage);
    const latency = chainLatency(mixBus.steps, this.sampleRate) / this.sampleRate;
    if (latency === this.mixBusLatency) return;
    this.mixBusLatency = latency;
    if (this.deck) this.jump(this.position());
  }

  /** Gains of the paths by id, linear; moves at once. */
  setBlends(gains: ReadonlyMap<string, number>): void {
    for (const [id, gain] of gains) this.blendOf(id).gain.rampTo(gain, MOVE_SECONDS);
  }

  /** Which side is heard. */
  hear(heard: Heard): void {
    this.heard = heard;
    this.moveSides();
  }

  /** How far each side is turned down so that all are equally loud, dB. */
  setMatch(db: Readonly<Record<Heard, number>>): void {
    Object.assign(this.matchDb, db);
    this.moveSides();
  }

  private moveSides(): void {
    for (const side of ['rough', 'received', 'mix'] as const) {
      this.sides[side].gain.rampTo(side === this.heard ? gainOf(this.matchDb[side]) : 0, MOVE_SECONDS);
    }
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
    if (this.deck) this.jump(this.position());
  }

  async play(): Promise<void> {
    if (this.deck || !this.material) return;
    await this.context.resume();
    this.jump(this.restAt);
  }

  pause(): void {
    this.restAt = this.position();
    this.deck?.end(this.context.rawContext.currentTime);
    this.deck = null;
  }

  seek(seconds: number): void {
    if (this.deck) this.jump(seconds);
    else this.restAt = seconds;
  }

  /** Where playing is, or would start, seconds. */
  position(): number {
    if (!this.deck) return this.restAt;
    const elapsed = this.context.rawContext.currentTime - this.deck.startedAt - this.mixBusLatency;
    return positionAfter(this.deck.offset, elapsed, this.deck.loop);
  }

  /** Starts a deck at `seconds`, fading over from the one that plays. */
  private jump(seconds: number): void {
    const { material } = this;
    if (!material) return;
    const startAt = this.context.rawContext.currentTime + HEAD_START;
    const ahead = this.deck ? HEAD_START : 0;
    const from = startingPoint(seconds + ahead, material.seconds, this.loop);
    this.deck?.end(startAt);
    this.deck = new Deck(this.context, this.voices(material), startAt, from, this.loop, () => this.ended());
    this.moveSides();
  }

  private ended(): void {
    this.deck?.end(this.context.rawContext.currentTime);
    this.deck = null;
    this.restAt = 0;
    this.onEnd();
  }

  private voices({ rough, received, paths, seconds }: Material): Voice[] {
    const late = this.mixBusLatency;
    const voice = (audio: Audio, into: Gain, lateSeconds: number): Voice => ({
      buffer: this.bufferOf(audio, Math.ceil(seconds * audio.sampleRate)),
      into,
      endSeconds: seconds,
      lateSeconds,
    });
    return [
      ...[...paths].map(([id, audio]) => voice(audio, this.blendOf(id), 0)),
      ...(received ? [voice(received, this.sides.received, late)] : []),
      ...(rough ? [voice(rough, this.sides.rough, late)] : []),
    ];
  }

  /** The sound as a buffer of at least `frames`: a shorter one would end its loop before the others. */
  private bufferOf(audio: Audio, frames: number): ToneAudioBuffer {
    const known = this.buffers.get(audio);
    if (known && known.length >= frames) return known;
    const length = Math.max(frames, audio.channels[0]!.length);
    const buffer = this.context.createBuffer(audio.channels.length, length, audio.sampleRate);
    audio.channels.forEach((channel, n) => buffer.copyToChannel(channel as Float32Array<ArrayBuffer>, n));
    const wrapped = new ToneAudioBuffer(buffer);
    this.buffers.set(audio, wrapped);
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
