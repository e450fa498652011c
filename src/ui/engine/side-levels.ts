import { leftOut } from '../../audition/heard.ts';
import type { Audio } from '../../dsp/audio.ts';
import type { Heard, Range } from './engine.ts';
import { BOTH_SIDES_LU, excerptOf, framesIn, type Frames } from './excerpt.ts';

/** Who measures. */
export interface LevelMeter {
  loudnessOf(audio: Audio): Promise<number | null>;
  levels(sides: readonly Heard[], frames: Frames | null): void;
}

/** Loudness of one side; not settled while it is an estimate, or from before the last change. */
export interface Level {
  readonly lufs: number | null;
  readonly settled: boolean;
}

const isOfBlend = (side: Heard): boolean => side === 'mix' || leftOut(side) !== null;
const nameOf = (frames: Frames | null): string => (frames ? `${frames.from}-${frames.to}` : 'whole');

/**
 * Integrated loudness of everything that is compared, over the section in loop, else over the whole song. Levels are
 * measured from the sound itself; what was measured of a sound once is kept as long as the sound.
 */
export class SideLevels {
  private readonly levels = new Map<Heard, Level>();
  private readonly sounds = new Map<Heard, Audio>();
  private readonly measured = new WeakMap<Audio, Map<string, number | null>>();
  private mixWhole: number | null | undefined;
  private without: readonly Heard[] = [];
  private frames: Frames | null = null;

  constructor(
    private readonly meter: LevelMeter,
    private readonly onChange: () => void,
    /** What leaving a path out is known to change before the mix bus, over the whole song, LU; null: not known. */
    private readonly changeOf: (path: string) => number | null = () => null,
  ) {}

  get all(): ReadonlyMap<Heard, Level> {
    return this.levels;
  }

  /** Forgets every side. */
  clear(): void {
    this.levels.clear();
    this.sounds.clear();
    this.mixWhole = undefined;
  }

  /** The stretch over which levels count; null: the whole song. */
  over(range: Range | null, sampleRate: number): void {
    const frames = framesIn(range, sampleRate);
    if (nameOf(frames) === nameOf(this.frames)) return;
    this.frames = frames;
    for (const [side, level] of this.levels) this.levels.set(side, { ...level, settled: false });
    for (const [side, sound] of this.sounds) this.look(side, sound);
    this.askBlend();
  }

  /** The sound of the rough, the mix as received, or a pass; null: it is no longer there. */
  sound(side: Heard, sound: Audio | null): void {
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
    const heard = lufs !== null && sound.channels.length === 1 ? lufs + BOTH_SIDES_LU : lufs;
    this.keep(sound, null, heard);
    if (this.frames === null) this.settle(side, { lufs: heard, settled: true });
  }

  /** The same of the whole mix; undefined: the blend has changed and is not measured yet. */
  wholeMix(lufs: number | null | undefined): void {
    this.mixWhole = lufs;
    if (lufs !== undefined && this.frames === null) this.settle('mix', { lufs, settled: true });
  }

  /** The blend has changed; or other paths are left out in what is compared. */
  blend(without: readonly Heard[], isNew: boolean): void {
    const same = without.length === this.without.length && without.every((side) => this.without.includes(side));
    if (same && !isNew) return;
    for (const side of this.levels.keys())
      if (leftOut(side) !== null && !without.includes(side)) this.levels.delete(side);
    if (isNew) {
      for (const [side, level] of this.levels) if (isOfBlend(side)) this.levels.set(side, { ...level, settled: false });
    }
    this.without = without;
    for (const side of without) this.guess(side);
    this.askBlend();
  }

  /** A first level for the mix without a path, so that it never comes in louder than the mix: the measured one follows. */
  private guess(side: Heard): void {
    const mix = this.levels.get('mix');
    if (this.levels.has(side) || !mix || mix.lufs === null) return;
    const change = this.changeOf(leftOut(side)!) ?? 0;
    this.levels.set(side, { lufs: mix.lufs + change, settled: false });
  }

  /** What the meter found of the newest blend. */
  found(side: Heard, level: Level): void {
    this.settle(side, level);
  }

  private askBlend(): void {
    const sides: readonly Heard[] = this.frames === null ? this.without : ['mix', ...this.without];
    if (this.frames === null && this.mixWhole !== undefined) this.settle('mix', { lufs: this.mixWhole, settled: true });
    this.meter.levels(sides, this.frames);
  }

  private look(side: Heard, sound: Audio): void {
    const { frames } = this;
    const known = this.measured.get(sound)?.get(nameOf(frames));
    if (known !== undefined) {
      this.settle(side, { lufs: known, settled: true });
      return;
    }
    const old = this.levels.get(side);
    if (old) this.levels.set(side, { ...old, settled: false });
    // The whole of these is measured with all their other figures.
    if (frames === null && (side === 'rough' || side === 'received')) return;
    void this.meter.loudnessOf(excerptOf(sound, frames)).then((lufs) => {
      this.keep(sound, frames, lufs);
      if (this.sounds.get(side) === sound && nameOf(this.frames) === nameOf(frames))
        this.settle(side, { lufs, settled: true });
    });
  }

  private keep(sound: Audio, frames: Frames | null, lufs: number | null): void {
    const known = this.measured.get(sound) ?? new Map<string, number | null>();
    this.measured.set(sound, known.set(nameOf(frames), lufs));
  }

  private settle(side: Heard, level: Level): void {
    this.levels.set(side, level);
    this.onChange();
  }
}
