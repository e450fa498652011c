import { Audition, type Material } from '../../audition/audition.ts';
import type { PlanMixBus } from '../../render/plan.ts';
import type { Heard, Range } from '../engine.ts';

/**
 * What is asked of listening, kept until there is an audition to ask: browsers give sound only after a gesture, so it is
 * opened at the first play.
 */
export class Player {
  private audition: Audition | null = null;
  private opening: Promise<Audition> | null = null;
  private material: Material | null = null;
  private gains: ReadonlyMap<string, number> = new Map();
  private matchDb: ReadonlyMap<Heard, number> = new Map();
  private heard: Heard = 'mix';
  private monitorDb: number | null = null;
  private folded = false;
  private range: Range | null = null;
  private restAt = 0;

  /** `onEnd` is called when playing ends by itself. */
  constructor(private readonly onEnd: () => void) {}

  /** The sound to play, and the gains of its paths; null: there is none. */
  load(material: Material | null, gains: ReadonlyMap<string, number>): void {
    this.material = material;
    if (material) this.audition?.load(material);
    this.setBlends(gains);
  }

  setBlends(gains: ReadonlyMap<string, number>): void {
    this.gains = gains;
    this.audition?.setBlends(gains);
  }

  setMixBus(mixBus: PlanMixBus): void {
    this.audition?.setMixBus(mixBus);
  }

  /** How far each side is turned down, dB. */
  setMatch(db: ReadonlyMap<Heard, number>): void {
    this.matchDb = db;
    this.audition?.setMatch(db);
  }

  /** Resolves with whether it plays. */
  async play(): Promise<boolean> {
    const { material } = this;
    if (!material) return false;
    const audition = await this.auditionAt(material.sampleRate);
    await audition.play();
    return audition.playing;
  }

  private async auditionAt(sampleRate: number): Promise<Audition> {
    if (this.audition?.sampleRate === sampleRate) return this.audition;
    await this.audition?.dispose();
    this.audition = null;
    this.opening ??= Audition.open(sampleRate, this.onEnd);
    try {
      this.audition = await this.opening;
    } finally {
      this.opening = null;
    }
    this.tellAll(this.audition);
    return this.audition;
  }

  private tellAll(audition: Audition): void {
    if (this.monitorDb !== null) audition.setMonitor(this.monitorDb);
    audition.setMono(this.folded);
    if (this.material) audition.load(this.material);
    audition.setBlends(this.gains);
    audition.setLoop(this.range);
    audition.seek(this.restAt);
    audition.hear(this.heard);
    audition.setMatch(this.matchDb);
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

  hear(heard: Heard, veiled: boolean): void {
    this.heard = heard;
    this.audition?.hear(heard, veiled);
  }

  monitor(levelDb: number): void {
    this.monitorDb = levelDb;
    this.audition?.setMonitor(levelDb);
  }

  mono(on: boolean): void {
    this.folded = on;
    this.audition?.setMono(on);
  }

  position(): number {
    return this.audition ? this.audition.position() : this.restAt;
  }

  dispose(): void {
    void this.audition?.dispose();
  }
}
