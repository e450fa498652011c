import type { Audition, Material } from '../../audition/audition.ts';
import type { Audio } from '../../audio/audio.ts';
import type { PlanMixBus } from '../../render/plan.ts';
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
const listening = {
  audition: async (sampleRate: number, onEnd: () => void): Promise<Audition> =>
    (await import('../../audition/audition.ts')).Audition.open(sampleRate, onEnd),
  buffers: () => import('../../audition/play-buffer.ts'),
};

/**
 * What is asked of listening, kept until there is an audition to ask: browsers give sound only after a gesture, so it is
 * opened at the first play, and only then sounds are fetched.
 */
export class Player {
  private audition: Audition | null = null;
  private opening: Promise<Audition> | null = null;
  private playable: Playable | null = null;
  private mixBus: PlanMixBus = { trimGain: 1, steps: [] };
  private gains: ReadonlyMap<string, number> = new Map();
  private matchDb: ReadonlyMap<Heard, number> = new Map();
  private heard: Heard = 'mix';
  private monitorDb: number | null = null;
  private folded = false;
  private range: Range | null = null;
  private restAt = 0;
  /** Sounds as they are played: each is fetched once. */
  private readonly buffers = new WeakMap<SoundRef, AudioBuffer>();
  /** The fetching of what is missing, until all that is wanted has been loaded. */
  private bringing: Promise<void> | null = null;

  constructor(
    /** A copy of the samples of a sound; null: it is gone, and something newer is on its way. */
    private readonly fetch: (sound: SoundRef) => Promise<Audio | null>,
    /** Called when playing ends by itself. */
    private readonly onEnd: () => void,
  ) {}

  /** The sound to play, and the gains of its paths; null: there is none. */
  load(playable: Playable | null, gains: ReadonlyMap<string, number>): void {
    this.playable = playable;
    this.setBlends(gains);
    if (this.audition) void this.bring();
  }

  setBlends(gains: ReadonlyMap<string, number>): void {
    this.gains = gains;
    this.audition?.setBlends(gains);
  }

  setMixBus(mixBus: PlanMixBus): void {
    this.mixBus = mixBus;
    this.audition?.setMixBus(mixBus);
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
    await this.bring();
    await audition.play();
    return audition.playing;
  }

  private async auditionAt(sampleRate: number): Promise<Audition> {
    if (this.audition?.sampleRate === sampleRate) return this.audition;
    await this.audition?.dispose();
    this.audition = null;
    this.opening ??= listening.audition(sampleRate, this.onEnd);
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
    audition.setLoop(this.range);
    audition.seek(this.restAt);
    audition.hear(this.heard);
    audition.setMatch(this.matchDb);
  }

  /** Fetches what is missing of what is to be played, and loads it; what is overtaken meanwhile is not loaded. */
  private async bring(): Promise<void> {
    if (this.playable) await (this.bringing ??= this.bringNewest());
  }

  private async bringNewest(): Promise<void> {
    try {
      for (let loaded: Playable | null = null; this.playable && loaded !== this.playable;) {
        loaded = this.playable;
        const material = await this.materialOf(loaded);
        if (material && loaded === this.playable) this.audition?.load(material);
      }
      this.audition?.setBlends(this.gains);
    } finally {
      this.bringing = null;
    }
  }

  /** null: a sound has gone meanwhile. */
  private async materialOf({
    sampleRate,
    seconds,
    rough,
    received,
    paths,
    passes,
  }: Playable): Promise<Material | null> {
    const frames = Math.ceil(seconds * sampleRate);
    const all = [rough, received, ...paths.values(), ...passes.values()].filter((sound) => sound !== null);
    for (const sound of all) if (!(await this.has(sound, frames))) return null;
    const of = (sound: SoundRef): AudioBuffer => this.buffers.get(sound)!;
    const each = (sounds: ReadonlyMap<string, SoundRef>): Map<string, AudioBuffer> =>
      new Map([...sounds].map(([id, sound]) => [id, of(sound)]));
    return {
      ...{ sampleRate, seconds, mixBus: this.mixBus, paths: each(paths), passes: each(passes) },
      ...{ rough: rough && of(rough), received: received && of(received) },
    };
  }

  private async has(sound: SoundRef, frames: number): Promise<boolean> {
    const { lengthened, playBuffer } = await listening.buffers();
    const known = this.buffers.get(sound);
    const audio = known ? null : await this.fetch(sound);
    if (known) this.buffers.set(sound, lengthened(known, frames));
    else if (audio) this.buffers.set(sound, playBuffer(audio, frames));
    return known !== undefined || audio !== null;
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
