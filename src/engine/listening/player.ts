import type { MonitorCheck } from '../../audition/monitor-check.ts';
import type { Audition } from '../../audition/audition.ts';
import type { DirectMoves } from '../../audition/live-messages.ts';
import type { Meters } from '../../audition/meters.ts';
import type { PlanMixBus } from '../../render/plan/plan.ts';
import type { Heard, Range } from '../engine.ts';
import type { Hearable, SoundRef } from '../worker/protocol.ts';

/** Sounds to play, by reference. */
interface Playable extends Hearable {
  /** Length of the song, seconds. */
  readonly seconds: number;
  /** Printed passes by id. */
  readonly passes: ReadonlyMap<string, SoundRef>;
}

/** The audition is loaded at the first play: it holds an audio context, which is slow to open. */
const openAudition = async (...given: Parameters<typeof Audition.open>): Promise<Audition> =>
  (await import('../../audition/audition.ts')).Audition.open(...given);

/**
 * Playback settings, kept until there is an audition: browsers allow sound only after a gesture, so it is
 * opened at the first play. Sound goes straight from the worker to the audio thread.
 */
export class Player {
  private audition: Audition | null = null;
  private opening: Promise<Audition> | null = null;
  private playable: Playable | null = null;
  /** The playable sounds as last given to the audition. */
  private loaded: Playable | null = null;
  private mixBus: PlanMixBus = { trimGain: 1, steps: [] };
  private gains: ReadonlyMap<string, number> = new Map();
  private matchDb: ReadonlyMap<Heard, number> = new Map();
  private heard: Heard = 'mix';
  private monitorDb: number | null = null;
  private monitorCheck: MonitorCheck | null = null;
  private range: Range | null = null;
  private restAt = 0;
  private isFed = false;
  private onMeters: ((meters: Meters) => void) | null = null;

  constructor(
    /** Called with the port through which the worker is to send sound. */
    private readonly feed: (port: MessagePort) => void,
    /** Called when playback ends by itself. */
    private readonly onEnd: () => void,
    /** Called when playback begins to wait for rendering, and when it continues. */
    private readonly onWaits: (waits: boolean) => void,
  ) {}

  /** The sound to play, and the gains of its paths; null: there is none. */
  load(playable: Playable | null, gains: ReadonlyMap<string, number>): void {
    this.playable = playable;
    this.setBlends(gains);
    // A context has one sample rate: sound at another rate is played by a new context, from the same position.
    if (playable && this.audition && this.audition.sampleRate !== playable.sampleRate) {
      if (this.audition.playing) this.onEnd();
      this.restAt = this.audition.position();
      void this.letGo();
    }
    if (this.audition) this.bring(this.audition);
  }

  /** The worker that sent sound was replaced. */
  loseFeed(): void {
    this.isFed = false;
    this.playable = null;
    if (this.audition && this.loaded) this.audition.load(null);
    this.loaded = null;
  }

  setBlends(gains: ReadonlyMap<string, number>): void {
    this.gains = gains;
    this.audition?.setBlends(gains);
  }

  setMixBus(mixBus: PlanMixBus): void {
    this.mixBus = mixBus;
    this.audition?.setMixBus(mixBus);
  }

  /** Chains that an edit changed: live strips take them over at once. */
  moveLive(moves: DirectMoves): void {
    this.audition?.moveLive(moves);
  }

  /** Gain of each side, dB, 0 or below. */
  setMatch(db: ReadonlyMap<Heard, number>): void {
    this.matchDb = db;
    this.audition?.setMatch(db);
  }

  /** Resolves with whether it plays. */
  async play(): Promise<boolean> {
    if (!this.playable) return false;
    const audition = await this.auditionAt(this.playable.sampleRate);
    this.bring(audition);
    await audition.play();
    return audition.playing;
  }

  private async auditionAt(sampleRate: number): Promise<Audition> {
    if (this.audition?.sampleRate === sampleRate) return this.audition;
    await this.letGo();
    this.opening ??= openAudition(sampleRate, this.onEnd, this.onWaits);
    try {
      this.audition = await this.opening;
    } finally {
      this.opening = null;
    }
    this.tellAll(this.audition);
    return this.audition;
  }

  private letGo(): Promise<void> | undefined {
    const { audition } = this;
    this.audition = this.loaded = null;
    this.isFed = false;
    return audition?.dispose();
  }

  private tellAll(audition: Audition): void {
    if (this.monitorDb !== null) audition.setMonitor(this.monitorDb);
    audition.setCheck(this.monitorCheck);
    audition.setLoop(this.range);
    audition.setMetering(this.onMeters);
    audition.seek(this.restAt);
    audition.hear(this.heard);
    audition.setMatch(this.matchDb);
  }

  /** Loads the sounds to play. */
  private bring(audition: Audition): void {
    if (!this.isFed) {
      const { port1, port2 } = new MessageChannel();
      this.feed(port1);
      audition.setFeed(port2);
      this.isFed = true;
    }
    if (this.loaded !== this.playable) audition.load(this.playable && { ...this.playable, mixBus: this.mixBus });
    this.loaded = this.playable;
    audition.setBlends(this.gains);
  }

  pause(): void {
    this.audition?.pause();
  }

  seek(seconds: number): void {
    this.restAt = seconds;
    this.audition?.seek(seconds);
  }

  loop(range: Range | null): void {
    this.range = range;
    this.audition?.setLoop(range);
  }

  hear(heard: Heard, throughSilence: boolean): void {
    this.heard = heard;
    this.audition?.hear(heard, throughSilence);
  }

  monitor(levelDb: number): void {
    this.monitorDb = levelDb;
    this.audition?.setMonitor(levelDb);
  }

  check(check: MonitorCheck | null): void {
    this.monitorCheck = check;
    this.audition?.setCheck(check);
  }

  /** The listener for meter values during playback; null: none. */
  meter(onMeters: ((meters: Meters) => void) | null): void {
    this.onMeters = onMeters;
    this.audition?.setMetering(onMeters);
  }

  bands(): readonly number[] {
    return this.audition?.bands() ?? [];
  }

  position(): number {
    return this.audition ? this.audition.position() : this.restAt;
  }

  dispose(): void {
    void this.audition?.dispose();
  }
}
