import { leftOut, passIn } from '../../audition/heard.ts';
import { planPaths } from '../../render/plan/plan-paths.ts';
import type { PlanMixBus } from '../../render/plan/plan.ts';
import type { Session } from '../../session/schema.ts';
import type { Heard, Range } from '../engine.ts';
import type { Hearable, Prints, SoundRef } from '../worker/protocol.ts';
import type { ListeningView } from './listening-view.ts';
import { countedOf, matchingOf } from './matching.ts';
import type { Player } from './player.ts';
import { SideLevels, type Level, type LevelMeter } from './side-levels.ts';

const NO_PRINTS: Prints = { sounds: new Map(), overviews: new Map(), preparing: new Map(), faults: new Map() };

/** All sides that can be compared, their loudness, and how they are matched. */
export class ListeningRoom {
  private readonly levels: SideLevels;
  private session: Session | null = null;
  private hearable: Hearable | null = null;
  private prints = NO_PRINTS;
  private seconds = 0;
  private compared: readonly Heard[] = [];
  private heard: Heard = 'mix';
  private matching = true;
  private range: Range | null = null;
  /** Loudness to which compared sides are turned down, LUFS. */
  private turnedTo: number | null = null;
  /** The first reference of each sound: its levels are stored by this object. */
  private sounds: ReadonlyMap<number, SoundRef> = new Map();

  constructor(
    private readonly player: Player,
    meter: LevelMeter,
    /** Requests prints of these passes, and no others. */
    private readonly wantPasses: (ids: readonly string[]) => void,
    changeWithout: (path: string) => number | null | undefined,
    private readonly show: (view: ListeningView) => void,
  ) {
    this.levels = new SideLevels(meter, () => this.look(), changeWithout);
  }

  /** Forgets the last song. */
  clear(): void {
    this.hearable = null;
    this.prints = NO_PRINTS;
    this.seconds = 0;
    this.compared = [];
    this.sounds = new Map();
    this.turnedTo = null;
    this.levels.clear();
    this.player.load(null, new Map());
    this.look();
  }

  /** The current session: its blends are heard at once. */
  follow(session: Session): void {
    this.session = session;
    this.player.setBlends(this.gains());
  }

  private gains(): ReadonlyMap<string, number> {
    return new Map(this.session ? planPaths(this.session).map(({ id, gain }) => [id, gain]) : []);
  }

  setMixBus(mixBus: PlanMixBus): void {
    this.player.setMixBus(mixBus);
  }

  /**
   * Sounds that can be played from now on; `seconds` is the length of the song. A mix that a newer edit has overtaken is heard until
   * the newer one is rendered, and not measured.
   */
  take(told: Hearable, seconds: number, isOvertaken: boolean): void {
    const before = this.hearable;
    const hearable = this.sameSounds(told);
    const isNew = seconds !== this.seconds || soundsOf(hearable) !== (before && soundsOf(before));
    this.hearable = hearable;
    if (isOvertaken) {
      this.levels.unsettle();
      this.load();
      this.look();
      return;
    }
    this.levels.first(new Map());
    this.takeRough(hearable, seconds);
    this.levels.sound('received', hearable.received);
    if (isNew) this.load();
    this.levels.wholeMix(undefined);
    this.askBlend(true);
    this.look();
  }

  private takeRough(hearable: Hearable, seconds: number): void {
    this.seconds = seconds;
    if (seconds > 0) this.levels.over(this.range, hearable.sampleRate);
    this.levels.sound('rough', hearable.rough);
  }

  /** Sounds that can be played as far as they are rendered; sides are matched by levels of their beginning until they are measured whole. */
  takeGrowing(told: Hearable, seconds: number, levels: ReadonlyMap<Heard, number | null>): void {
    const before = this.hearable;
    const hearable = this.sameSounds(told);
    const isNew = seconds !== this.seconds || soundsOf(hearable) !== (before && soundsOf(before));
    this.hearable = hearable;
    this.takeRough(hearable, seconds);
    this.levels.first(levels);
    if (isNew) this.load();
    this.look();
  }

  /** The same, with known references in place of equal new ones. */
  private sameSounds(hearable: Hearable): Hearable {
    const { rough, received, paths } = hearable;
    const known = (sound: SoundRef): SoundRef => this.sounds.get(sound.id) ?? sound;
    const own = {
      ...hearable,
      rough: rough && known(rough),
      received: received && known(received),
      paths: new Map([...paths].map(([id, sound]) => [id, known(sound)])),
    };
    this.keep(own, this.prints);
    return own;
  }

  private keep(hearable: Hearable | null, prints: Prints): void {
    const { rough = null, received = null, paths = new Map<string, SoundRef>() } = hearable ?? {};
    const all = [rough, received, ...paths.values(), ...prints.sounds.values()].filter((sound) => sound !== null);
    this.sounds = new Map(all.map((sound) => [sound.id, sound]));
  }

  private load(): void {
    const { hearable, seconds } = this;
    if (hearable) this.player.load({ ...hearable, seconds, passes: this.prints.sounds }, this.gains());
  }

  /** Whole figures have been measured. */
  measured(side: 'rough' | 'received' | 'mix', lufs: number | null): void {
    if (side === 'mix') this.levels.wholeMix(lufs);
    else this.levels.whole(side, lufs);
  }

  level(side: Heard, level: Level): void {
    this.levels.found(side, level);
  }

  compare(sides: readonly Heard[]): void {
    this.compared = sides;
    this.want();
    this.askBlend(false);
    this.look();
  }

  hear(heard: Heard, throughSilence: boolean): void {
    this.heard = heard;
    if (passIn(heard) !== null) this.want();
    this.askBlend(false);
    // Its level is set before it is heard.
    this.look();
    this.player.hear(heard, throughSilence);
  }

  match(on: boolean): void {
    this.matching = on;
    this.look();
  }

  loop(range: Range | null): void {
    this.range = range;
    if (this.hearable) this.levels.over(range, this.hearable.sampleRate);
    this.look();
  }

  private get sides(): readonly Heard[] {
    return [...new Set([...this.compared, this.heard])];
  }

  /** Requests levels without a path: first of compared sides, then of all others that can be switched to. */
  private askBlend(isNew: boolean): void {
    const compared = this.sides.filter((side) => leftOut(side) !== null);
    const { received = null, paths } = this.hearable ?? {};
    const all = received && paths ? [...paths.keys()].map((id): Heard => `without:${id}`) : [];
    this.levels.blend(
      compared,
      all.filter((side) => !compared.includes(side)),
      isNew,
    );
  }

  /** The changes by leaving paths out have been measured. */
  changesKnown(): void {
    this.levels.foresee();
  }

  private want(): void {
    this.wantPasses(this.sides.map(passIn).filter((id) => id !== null));
  }

  /** Receives the prints of passes. */
  takePrints(told: Prints): void {
    const before = this.prints.sounds;
    const sounds = new Map([...told.sounds].map(([id, sound]) => [id, this.sounds.get(sound.id) ?? sound]));
    this.prints = { ...told, sounds };
    const isNew = sounds.size !== before.size || [...sounds].some(([id, sound]) => before.get(id) !== sound);
    if (isNew) {
      this.keep(this.hearable, this.prints);
      for (const id of before.keys()) if (!sounds.has(id)) this.levels.sound(`pass:${id}`, null);
      for (const [id, sound] of sounds) this.levels.sound(`pass:${id}`, sound);
      this.load();
    }
    this.look();
  }

  /**
   * Sides that can be played now: when compared, a side only once its level is known, so that it never starts too loud.
   * The side that is playing stays.
   */
  private audible(): readonly Heard[] {
    const { hearable } = this;
    if (!hearable) return [];
    const { paths, rough, received } = hearable;
    const there: readonly Heard[] = [
      ...(rough ? (['rough'] as const) : []),
      ...(received ? (['received', 'mix'] as const) : []),
      ...[...this.prints.sounds.keys()].map((id): Heard => `pass:${id}`),
      ...(received ? [...paths.keys()].map((id): Heard => `without:${id}`) : []),
    ];
    return there.length === 1 ? there : there.filter((side) => side === this.heard || this.levels.all.has(side));
  }

  private look(): void {
    const audible = this.audible();
    const all = this.levels.all;
    const levels = new Map([...all].map(([side, { lufs }]) => [side, lufs]));
    const isCompared = (side: Heard): boolean => isAlways(side) || this.sides.includes(side);
    const compared = audible.filter(isCompared);
    const others = audible.filter((side) => !isCompared(side));
    const counted = countedOf(levels, compared, others);
    const { lufs, turnedTo, downDb } = matchingOf(levels, counted, this.turnedTo);
    // An estimate is not kept as the common level.
    if (counted.every((side) => all.get(side)?.settled)) this.turnedTo = turnedTo;
    this.player.setMatch(this.matching ? downDb : new Map());
    this.show({
      audible,
      matchedLufs: lufs,
      comparison: {
        levels,
        unsettled: new Set([...all].filter(([, { settled }]) => !settled).map(([side]) => side)),
        preparing: this.prints.preparing,
        faults: this.prints.faults,
      },
    });
  }
}

const isAlways = (side: Heard): boolean => side === 'rough' || side === 'received' || side === 'mix';

/** All sounds of a mix that can be played. */
const soundsOf = ({ rough, received, paths }: Hearable): string =>
  [rough?.id, received?.id, ...[...paths].flatMap(([id, sound]) => [id, sound.id])].join(' ');
