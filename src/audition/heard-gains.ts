import { GainRamp } from './gain-ramp.ts';
import type { Heard } from './heard.ts';
import type { PlayedSound, Program } from './played-sound.ts';
import type { Gains } from './song-messages.ts';
import { SwitchSilence } from './switch-silence.ts';

/** Time of a move of a gain, seconds: with the way of its message it is done in 20 ms. */
export const MOVE_SECONDS = 0.015;
/** A switch through silence fades to silence and back, each over this time, and stays silent in between, seconds. */
const SWITCH_FADE_SECONDS = 0.02;
const SWITCH_SILENCE_SECONDS = 0.03;

/** At which gains paths and sides are heard, and the silence that a switch may go through. */
export class HeardGains {
  private readonly paths = new Map<string, GainRamp>();
  private readonly sides = new Map<Heard, GainRamp>();
  private readonly silence: SwitchSilence;
  /** Gains that are set once it is silent. */
  private toCome: Gains | null = null;
  private readonly moveFrames: number;

  /** @param block most frames at once */
  constructor(
    sampleRate: number,
    private readonly block: number,
  ) {
    const frames = (seconds: number): number => Math.round(seconds * sampleRate);
    this.moveFrames = frames(MOVE_SECONDS);
    this.silence = new SwitchSilence(frames(SWITCH_FADE_SECONDS), frames(SWITCH_SILENCE_SECONDS));
  }

  set(gains: Gains, throughSilence: boolean): void {
    if (throughSilence) this.silence.begin();
    if (throughSilence || (this.toCome && this.silence.isFadingOut)) this.toCome = gains;
    else this.apply(gains);
    if (!this.silence.isFadingOut) this.lift();
  }

  pathOf(id: string): GainRamp | undefined {
    return this.paths.get(id);
  }

  sideOf(side: Heard): GainRamp | undefined {
    return this.sides.get(side);
  }

  /** Sounds of a program that are heard, or about to be. */
  heardIn({ paths, sides }: Program): ReadonlySet<PlayedSound> {
    const isMixHeard = this.sides.get('mix')?.isOpen ?? false;
    return new Set([
      ...paths.flatMap(([id, sound]) => (isMixHeard && this.paths.get(id)?.isOpen ? [sound] : [])),
      ...sides.flatMap(([side, sound]) => (this.sides.get(side)?.isOpen ? [sound] : [])),
    ]);
  }

  /** Gains of what is not in this program are forgotten. */
  keepOnly(program: Program | null): void {
    const played = new Set((program?.paths ?? []).map(([id]) => id));
    const sides = new Set<Heard>(['mix', ...(program?.sides ?? []).map(([side]) => side)]);
    for (const id of this.paths.keys()) if (!played.has(id)) this.paths.delete(id);
    for (const side of this.sides.keys()) if (!sides.has(side)) this.sides.delete(side);
  }

  /** Goes on by `count` frames. */
  advance(count: number): void {
    for (const ramp of this.paths.values()) ramp.advance(count);
    for (const ramp of this.sides.values()) ramp.advance(count);
  }

  /** Covers what is heard by the silence of a switch, and sets what has waited for it. */
  cover(left: Float64Array, right: Float64Array, count: number): void {
    const { silence } = this;
    if (silence.isOpen) return;
    for (let i = 0; i < count; i++) {
      const gain = silence.isOpen ? 1 : silence.next();
      left[i]! *= gain;
      right[i]! *= gain;
    }
    if (!silence.isFadingOut) this.lift();
  }

  /** Sets what has waited for silence. */
  private lift(): void {
    const { toCome } = this;
    this.toCome = null;
    if (toCome) this.apply(toCome);
  }

  private apply({ paths, sides }: Gains): void {
    for (const [id, gain] of paths) this.move(this.paths, id, gain);
    for (const [side, gain] of sides) this.move(this.sides, side, gain);
  }

  private move<Name>(ramps: Map<Name, GainRamp>, name: Name, gain: number): void {
    const ramp = ramps.get(name) ?? new GainRamp(0, this.moveFrames, this.block);
    ramps.set(name, ramp);
    ramp.set(gain);
  }
}
