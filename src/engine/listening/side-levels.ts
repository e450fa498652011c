import { leftOut } from '../../audition/heard.ts';
import type { Heard, Range } from '../engine.ts';
import { framesIn, type Frames } from '../excerpt.ts';
import type { SoundRef } from '../worker/protocol.ts';

/** The measuring functions. */
export interface LevelMeter {
  /** Loudness of a range (null: the whole) of a sound, LUFS; null: it has none; undefined: the sound is gone. */
  loudnessOf(sound: SoundRef, frames: Frames | null): Promise<number | null | undefined>;
  /** Requests levels of the blend: compared sides at once, the others when there is time. */
  levels(compared: readonly Heard[], others: readonly Heard[], frames: Frames | null): void;
}

/** Loudness of one side; not settled while it is an estimate, or from before the last change. */
export interface Level {
  readonly lufs: number | null;
  readonly settled: boolean;
}

const isOfBlend = (side: Heard): boolean => side === 'mix' || leftOut(side) !== null;
const isSame = (a: readonly Heard[], b: readonly Heard[]): boolean =>
  a.length === b.length && a.every((side) => b.includes(side));
const nameOf = (frames: Frames | null): string => (frames ? `${frames.from}-${frames.to}` : 'whole');

/**
 * Integrated loudness of all compared sides, over the section in loop, else over the whole song. Levels are
 * measured from the sound itself, and kept as long as the sound.
 */
export class SideLevels {
  private readonly levels = new Map<Heard, Level>();
  private readonly sounds = new Map<Heard, SoundRef>();
  private readonly measured = new WeakMap<SoundRef, Map<string, number | null>>();
  private mixWhole: number | null | undefined;
  /** Mixes without a path: those compared, and those that may be next. */
  private compared: readonly Heard[] = [];
  private others: readonly Heard[] = [];
  /** Sides that the meter has estimated over this stretch of this blend. */
  private readonly estimated = new Set<Heard>();
  /** Difference of the last measured level from its estimate, LU: the effect of the mix bus chain. */
  private readonly offsets = new Map<Heard, number>();
  private frames: Frames | null = null;
  /** Levels of the beginning of the song, LUFS, while the rest is being rendered. */
  private firsts: ReadonlyMap<Heard, number | null> = new Map();

  constructor(
    private readonly meter: LevelMeter,
    private readonly onChange: () => void,
    /**
     * Change of loudness before the mix bus when a path is left out, over the whole song, LU; null: silence remains;
     * undefined: not known.
     */
    private readonly changeOf: (path: string) => number | null | undefined = () => undefined,
  ) {}

  get all(): ReadonlyMap<Heard, Level> {
    return this.levels;
  }

  /** Forgets every side. */
  clear(): void {
    this.levels.clear();
    this.sounds.clear();
    this.estimated.clear();
    this.offsets.clear();
    this.firsts = new Map();
    this.mixWhole = undefined;
  }

  /** The range over which levels are measured; null: the whole song. */
  over(range: Range | null, sampleRate: number): void {
    const frames = framesIn(range, sampleRate);
    if (nameOf(frames) === nameOf(this.frames)) return;
    this.frames = frames;
    this.estimated.clear();
    for (const [side, level] of this.levels) this.levels.set(side, { ...level, settled: false });
    for (const [side, sound] of this.sounds) this.look(side, sound);
    this.askBlend();
    this.foresee();
  }

  /** Levels of the beginning of each side, LUFS: used as estimates until the whole is measured. Empty: no estimates. */
  first(levels: ReadonlyMap<Heard, number | null>): void {
    this.firsts = levels;
    this.estimateFirsts();
  }

  /** The difference of the rough's loudness from that of its beginning is assumed for the other sides. */
  private estimateFirsts(): void {
    const rough = this.levels.get('rough');
    const first = this.firsts.get('rough');
    const known = rough?.settled ? rough.lufs : null;
    const louder = typeof first === 'number' && known !== null ? known - first : 0;
    for (const [side, lufs] of this.firsts)
      if (!this.levels.get(side)?.settled)
        this.levels.set(side, { lufs: lufs === null ? null : lufs + louder, settled: false });
  }

  /** The sound of the rough, the mix as received, or a pass; null: it was removed. */
  sound(side: Heard, sound: SoundRef | null): void {
    if (this.sounds.get(side) === (sound ?? undefined)) return;
    if (sound) {
      this.sounds.set(side, sound);
      this.look(side, sound);
    } else {
      this.sounds.delete(side);
      this.levels.delete(side);
    }
  }

  /** The integrated loudness of a whole sound, measured elsewhere, LUFS. */
  whole(side: 'rough' | 'received', lufs: number | null): void {
    const sound = this.sounds.get(side);
    if (!sound) return;
    this.keep(sound, null, lufs);
    if (this.frames === null) this.settle(side, { lufs, settled: true });
  }

  /** The same of the whole mix; undefined: the blend has changed and is not measured yet. */
  wholeMix(lufs: number | null | undefined): void {
    this.mixWhole = lufs;
    if (lufs === undefined || this.frames !== null) return;
    this.levels.set('mix', { lufs, settled: true });
    this.foresee();
  }

  /** Levels of the blend are from before its last change. */
  unsettle(): void {
    this.estimated.clear();
    for (const [side, level] of this.levels) if (isOfBlend(side)) this.levels.set(side, { ...level, settled: false });
  }

  /** The blend has changed, or the set of paths that are or may be left out. */
  blend(compared: readonly Heard[], others: readonly Heard[], isNew: boolean): void {
    if (!isNew && isSame(compared, this.compared) && isSame(others, this.others)) return;
    for (const side of this.levels.keys())
      if (leftOut(side) !== null && !compared.includes(side) && !others.includes(side)) this.levels.delete(side);
    if (isNew) this.unsettle();
    this.compared = compared;
    this.others = others;
    this.askBlend();
    this.foresee();
  }

  /**
   * Estimated levels of the mix without a path, so that it can be switched to at its level: the level of the mix plus
   * the change by the path. To be called when more is known.
   */
  foresee(): void {
    const mix = this.levels.get('mix');
    for (const side of [...this.compared, ...this.others]) {
      const change = this.changeOf(leftOut(side)!);
      if (this.levels.get(side)?.settled || this.estimated.has(side) || !mix || change === undefined) continue;
      const lufs = change === null || mix.lufs === null ? null : mix.lufs + change + (this.offsets.get(side) ?? 0);
      this.levels.set(side, { lufs, settled: false });
    }
    this.onChange();
  }

  /** Receives measured levels of the newest blend. */
  found(side: Heard, level: Level): void {
    if (level.settled) this.keepOffset(side, level.lufs);
    else this.estimated.add(side);
    this.levels.set(side, level);
    if (side === 'mix') this.foresee();
    else this.onChange();
  }

  private keepOffset(side: Heard, lufs: number | null): void {
    const mix = this.levels.get('mix');
    const path = leftOut(side);
    const change = path === null ? undefined : this.changeOf(path);
    if (this.frames !== null || !mix?.settled || lufs === null || mix.lufs === null || typeof change !== 'number')
      return;
    this.offsets.set(side, lufs - mix.lufs - change);
  }

  private askBlend(): void {
    const { frames, compared } = this;
    if (frames === null && this.mixWhole !== undefined) this.levels.set('mix', { lufs: this.mixWhole, settled: true });
    this.meter.levels(frames === null ? compared : ['mix', ...compared], this.others, frames);
  }

  private look(side: Heard, sound: SoundRef): void {
    const { frames } = this;
    const known = this.measured.get(sound)?.get(nameOf(frames));
    if (known !== undefined) {
      this.settle(side, { lufs: known, settled: true });
      return;
    }
    const old = this.levels.get(side);
    if (old) this.levels.set(side, { ...old, settled: false });
    // Over the whole song these are measured with all their other figures.
    if (frames === null && (side === 'rough' || side === 'received')) return;
    void this.meter.loudnessOf(sound, frames).then((lufs) => {
      if (lufs === undefined) return;
      this.keep(sound, frames, lufs);
      if (this.sounds.get(side) === sound && nameOf(this.frames) === nameOf(frames))
        this.settle(side, { lufs, settled: true });
    });
  }

  private keep(sound: SoundRef, frames: Frames | null, lufs: number | null): void {
    const known = this.measured.get(sound) ?? new Map<string, number | null>();
    this.measured.set(sound, known.set(nameOf(frames), lufs));
  }

  private settle(side: Heard, level: Level): void {
    this.levels.set(side, level);
    if (side === 'rough') this.estimateFirsts();
    this.onChange();
  }
}
