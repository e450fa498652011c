import type { MonitorCheck } from './monitor-check.ts';
import { AudioContext } from 'standardized-audio-context';
import { Context, Gain, connect } from 'tone';
import { gainOf } from '../audio/decibels.ts';
import type { PlanMixBus } from '../render/plan/plan.ts';
import { leftOut, soundingOf, type Heard } from './heard.ts';
import { HeardSpectrum } from './heard-spectrum.ts';
import type { DirectMoves } from './live-messages.ts';
import { metersFrom, type MeteredNames, type Meters } from './meters.ts';
import type { LoopFrames, PlayedSound, Program } from './played-sound.ts';
import { positionAfter, type Loop } from './position.ts';
import { SONG_PROCESSOR, type Anchor, type SongMessage, type SongReport } from './song-messages.ts';
import type { Reading } from './song-meters.ts';
import songWorkletUrl from './song.worklet.ts?worker&url';

/** Sound to listen to, all at one rate and starting with the song; its samples come through the feed. */
export interface Material {
  readonly sampleRate: number;
  /** Length of what is played, seconds. */
  readonly seconds: number;
  readonly rough: PlayedSound | null;
  readonly received: PlayedSound | null;
  /** Rendered paths by id. */
  readonly paths: ReadonlyMap<string, PlayedSound>;
  readonly mixBus: PlanMixBus;
  /** Printed passes by id, the mix bus after them. */
  readonly passes: ReadonlyMap<string, PlayedSound>;
}

/** The monitor starts this quiet, dB: nothing ever starts loud. */
export const FIRST_MONITOR_DB = -24;

/** Ramp time of the monitor, seconds. */
const MOVE_SECONDS = 0.03;
/** What fades out when playing stops, fades within this time, seconds. */
const FADE_SECONDS = 0.05;

const programOf = ({ sampleRate, seconds, rough, received, paths, passes }: Material): Program => ({
  frames: Math.ceil(seconds * sampleRate),
  paths: [...paths],
  sides: [
    ...(received ? ([['received', received]] as const) : []),
    ...(rough ? ([['rough', rough]] as const) : []),
    ...[...passes].map(([id, sound]) => [`pass:${id}`, sound] as const),
  ],
});

/**
 * Live listening: one audio worklet plays the song out of stretches that come straight from the engine's worker, sums paths, runs the
 * mix bus, and lets one side be heard (`SongMixer`). This is the page's end of it, and the monitor.
 */
export class Audition {
  /** Stretches that came too late, so that silence was heard in their place. */
  lateStretches = 0;
  private readonly volume: Gain;
  private readonly song: AudioWorkletNode;
  private readonly spectrum: HeardSpectrum;
  /** Gains of the paths as the mix has them. */
  private gains: ReadonlyMap<string, number> = new Map();
  private matchDb: ReadonlyMap<Heard, number> = new Map();
  private heard: Heard = 'mix';
  private mixBus: PlanMixBus = { trimGain: 1, steps: [] };
  private material: Material | null = null;
  /** From when on what is heard; null: nothing plays. */
  private anchor: Anchor | null = null;
  /** The jump that was asked for last, and where it leads, seconds. */
  private jump = 0;
  private onMeters: ((meters: Meters) => void) | null = null;
  private metered: MeteredNames | null = null;
  private restAt = 0;
  private isPlaying = false;
  /** Called once it plays as last asked, or is stopped. */
  private onStart: (() => void)[] = [];

  private constructor(
    readonly sampleRate: number,
    private readonly context: Context,
    /** Called when playing ends by itself at the end of the song. */
    private readonly onEnd: () => void,
    /** Called when playing waits for sound that is still being rendered, and when it goes on. */
    private readonly onWaits: (waits: boolean) => void,
  ) {
    this.volume = new Gain({ context, gain: gainOf(FIRST_MONITOR_DB) });
    this.song = context.createAudioWorkletNode(SONG_PROCESSOR, { numberOfInputs: 0, outputChannelCount: [2] });
    this.song.port.onmessage = ({ data }: MessageEvent<SongReport>) => this.hearReport(data);
    this.spectrum = new HeardSpectrum(context, this.song);
    connect(this.song, this.volume);
    connect(this.volume, context.rawContext.destination);
    this.sendGains();
  }

  /** Opens the sound card at `sampleRate` (Hz). Rejects when the browser has no audio worklet (an insecure address). */
  static async open(
    sampleRate: number,
    onEnd: () => void,
    onWaits: (waits: boolean) => void = () => {},
  ): Promise<Audition> {
    const context = new Context(new AudioContext({ sampleRate, latencyHint: 'interactive' }));
    await context.addAudioWorkletModule(songWorkletUrl);
    return new Audition(sampleRate, context, onEnd, onWaits);
  }

  private send(message: SongMessage, transfer: Transferable[] = []): void {
    this.song.port.postMessage(message, transfer);
  }

  private hearReport(report: SongReport): void {
    switch (report.kind) {
      case 'plays':
        if (report.anchor.jump !== this.jump || !this.isPlaying) return;
        this.anchor = report.anchor;
        this.onWaits(false);
        this.started();
        return;
      case 'waits':
        if (report.jump !== this.jump || !this.isPlaying) return;
        this.restAt = report.place / this.sampleRate;
        this.anchor = null;
        this.onWaits(true);
        this.started();
        return;
      case 'ended':
        this.ended();
        return;
      case 'late stretches':
        this.lateStretches = report.count;
        return;
      case 'meters':
        this.hearMeters(report.reading);
    }
  }

  private hearMeters({ values, names }: Reading): void {
    if (names) this.metered = names;
    if (this.isPlaying && this.metered) this.onMeters?.(metersFrom(values, this.metered));
  }

  /** Who hears of the meters while something plays, some 40 times a second; null: nobody, and then nothing is measured. */
  setMetering(onMeters: ((meters: Meters) => void) | null): void {
    this.onMeters = onMeters;
    this.send({ kind: 'metering', on: onMeters !== null });
  }

  /** Levels of the third octaves of what is heard now, before the monitor, dB; none while nothing plays. */
  bands(): readonly number[] {
    return this.isPlaying ? this.spectrum.read() : [];
  }

  private started(): void {
    for (const done of this.onStart.splice(0)) done();
  }

  /** Where stretches come from: a port whose other end is a `SoundFeed`. Sounds of another feed are forgotten. */
  setFeed(port: MessagePort): void {
    this.send({ kind: 'feed', port }, [port]);
  }

  get playing(): boolean {
    return this.isPlaying;
  }

  /** Takes new sound in place of the old; what plays goes on at the same place. null: there is none. */
  load(material: Material | null): void {
    this.material = material;
    if (material) {
      this.gains = new Map([...this.gains].filter(([id]) => material.paths.has(id)));
      this.setMixBus(material.mixBus);
    }
    this.send({ kind: 'program', program: material && programOf(material) });
    this.sendGains();
    if (!material) this.pause();
  }

  /** Trim and chain of the mix bus, heard at once. */
  setMixBus(mixBus: PlanMixBus): void {
    const { steps, trimGain } = this.mixBus;
    // Its chain may work with long sounds, which would go over again.
    if (mixBus.steps === steps && mixBus.trimGain === trimGain) return;
    this.mixBus = mixBus;
    this.send({ kind: 'mix bus', mixBus });
  }

  /** Chains that an edit changed: what of them runs live moves at once. */
  moveLive(moves: DirectMoves): void {
    this.send({ kind: 'moves', moves });
  }

  /** Gains of the paths by id, linear; moves at once. */
  setBlends(gains: ReadonlyMap<string, number>): void {
    const isKnown = [...gains].every(([id, gain]) => this.gains.get(id) === gain);
    if (isKnown) return;
    this.gains = new Map([...this.gains, ...gains]);
    this.sendGains();
  }

  /**
   * Which side is heard from now on. `throughSilence`: the switch goes through a short silence, whatever it leads to, so that the
   * way of switching tells nothing of the sides.
   */
  hear(heard: Heard, throughSilence = false): void {
    this.heard = heard;
    this.sendGains(throughSilence);
  }

  /** How far each side is turned down so that all are equally loud, dB; a side that is not named is not turned down. */
  setMatch(db: ReadonlyMap<Heard, number>): void {
    const isKnown = db.size === this.matchDb.size && [...db].every(([side, down]) => this.matchDb.get(side) === down);
    if (isKnown) return;
    this.matchDb = new Map(db);
    this.sendGains();
  }

  /** Sends the gain of every path and side for the side that is heard. */
  private sendGains(throughSilence = false): void {
    const { heard, gains, material } = this;
    const sounding = soundingOf(heard);
    const level = gainOf(this.matchDb.get(heard) ?? 0);
    const passes = [...(material?.passes.keys() ?? [])].map((id): Heard => `pass:${id}`);
    const sides = new Set<Heard>(['rough', 'received', 'mix', ...passes, sounding]);
    this.send({
      kind: 'gains',
      throughSilence,
      gains: {
        paths: new Map([...gains].map(([id, gain]) => [id, id === leftOut(heard) ? 0 : gain])),
        sides: new Map([...sides].map((side) => [side, side === sounding ? level : 0])),
      },
    });
  }

  /** Level of the monitor, dB. */
  setMonitor(db: number): void {
    this.volume.gain.rampTo(gainOf(db), MOVE_SECONDS);
  }

  /** Lets what is heard pass a check of the monitor; null: none. */
  setCheck(check: MonitorCheck | null): void {
    this.send({ kind: 'check', check });
  }

  setLoop(loop: Loop | null): void {
    this.send({ kind: 'loop', loop: loop && this.framesOf(loop) });
  }

  private framesOf({ startSeconds, endSeconds }: Loop): LoopFrames {
    const frame = (seconds: number): number => Math.round(seconds * this.sampleRate);
    return { from: frame(startSeconds), to: frame(endSeconds) };
  }

  /** Resolves once it plays, or waits for sound that is being rendered, or has been stopped before. */
  async play(): Promise<void> {
    if (this.isPlaying || !this.material) return;
    this.isPlaying = true;
    await this.context.resume();
    if (!this.isPlaying) return;
    const starts = new Promise<void>((resolve) => this.onStart.push(resolve));
    this.jumpTo(this.restAt);
    await starts;
  }

  private jumpTo(seconds: number): void {
    this.restAt = seconds;
    this.anchor = null;
    this.send({ kind: 'play', place: Math.round(seconds * this.sampleRate), jump: ++this.jump });
  }

  pause(): void {
    if (!this.isPlaying) return;
    this.restAt = this.position();
    this.rest();
    this.send({ kind: 'pause' });
  }

  private rest(): void {
    this.isPlaying = false;
    this.anchor = null;
    this.started();
  }

  seek(seconds: number): void {
    if (this.isPlaying) this.jumpTo(seconds);
    else this.restAt = seconds;
  }

  /** Where playing is, or would start, seconds. */
  position(): number {
    const { anchor, sampleRate } = this;
    if (!anchor) return this.restAt;
    const { loop, place, clock } = anchor;
    const range = loop && { startSeconds: loop.from / sampleRate, endSeconds: loop.to / sampleRate };
    const reached = positionAfter(place / sampleRate, this.context.rawContext.currentTime - clock / sampleRate, range);
    return Math.min(reached, this.material?.seconds ?? reached);
  }

  private ended(): void {
    if (!this.isPlaying) return;
    this.rest();
    this.restAt = 0;
    this.onEnd();
  }

  /** Stops and lets go of the sound card. */
  async dispose(): Promise<void> {
    this.pause();
    await new Promise((resolve) => setTimeout(resolve, 1000 * FADE_SECONDS));
    this.song.port.onmessage = null;
    this.send({ kind: 'end' });
    await new Promise((resolve) => setTimeout(resolve, 1000 * FADE_SECONDS));
    this.song.port.close();
    this.spectrum.end();
    this.song.disconnect();
    this.volume.dispose();
    this.context.dispose();
    await (this.context.rawContext as unknown as { close(): Promise<void> }).close().catch(() => {});
  }
}
