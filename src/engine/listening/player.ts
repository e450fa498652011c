import type { MonitorCheck } from '../../audition/monitor-check.ts';
import type { Audition } from '../../audition/audition.ts';
import type { DirectMoves } from '../../audition/live-messages.ts';
import type { Meters } from '../../audition/meters.ts';
import type { PlanMixBus } from '../../render/plan/plan.ts';
import type { Heard, Range } from '../engine.ts';
import type { Hearable, SoundRef } from '../worker/protocol.ts';

/** What there is to play, by reference. */
export interface Playable extends Hearable {
  /** Length of what is played, seconds. */
  readonly seconds: number;
  /** Printed passes by id. */
  readonly passes: ReadonlyMap<string, SoundRef>;
}

/** What sounds is loaded at the first play: it holds an audio context, which takes its time to open. */
const openAudition = async (...given: Parameters<typeof Audition.open>): Promise<Audition> =>
  (await import('../../audition/audition.ts')).Audition.open(...given);

/**
 * What is asked of listening, kept until there is an audition to ask: browsers give sound only after a gesture, so it is
 * opened at the first play. Sound goes straight from the worker to the audio thread.
 */
export class Player {
  private audition: Audition | null = null;
  private opening: Promise<Audition> | null = null;
  private playable: Playable | null = null;
  /** What the audition has of it. */
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
    /** Has the worker send sound through this port. */
    private readonly feed: (port: MessagePort) => void,
    /** Called when playing ends by itself. */
    private readonly onEnd: () => void,
    /** Called when playing begins to wait for sound that is still being rendered, and when it goes on. */
    private readonly onWaits: (waits: boolean) => void,
  ) {}

  /** The sound to play, and the gains of its paths; null: there is none. */
  load(playable: Playable | null, gains: ReadonlyMap<string, number>): void {
    this.playable = playable;
    this.setBlends(gains);
    // A context keeps its rate: sound at another one is played by the next, from where this one was.
    if (playable && this.audition && this.audition.sampleRate !== playable.sampleRate) {
      if (this.audition.playing) this.onEnd();
      this.restAt = this.audition.position();
      void this.letGo();
    }
    if (this.audition) this.bring(this.audition);
  }

  /** The worker that sent sound is gone: another will. */
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

  /** Chains that an edit changed: what of them runs live moves at once. */
  moveLive(moves: DirectMoves): void {
    this.audition?.moveLive(moves);
  }

  /** How far each side is turned down, dB. */
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

  /** Loads what is to be played. */
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

  /** Who hears of the meters while something plays; null: nobody. */
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
