import { leftOut, passIn } from '../../audition/heard.ts';
import type { Audio } from '../../audio/audio.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { gainsOf } from '../../render/mix.ts';
import type { Plan } from '../../render/plan.ts';
import type { Session } from '../../session/schema.ts';
import type { Heard, Overview, Range } from '../engine.ts';
import type { ListeningView } from './listening-view.ts';
import { countedOf, matchingOf } from './matching.ts';
import { overviewOf } from '../measuring/overview.ts';
import { PassPrints, type Studio } from './pass-prints.ts';
import type { Player } from './player.ts';
import { SideLevels, type Level, type LevelMeter } from './side-levels.ts';

/** What has been rendered of a session. */
export interface Rendered {
  readonly plan: Plan;
  readonly paths: RenderedPaths;
  /** null: the session has no tracks yet. */
  readonly received: Audio | null;
  readonly rough: Audio | null;
}

/** What the sound of passes hangs on. */
const PARTS_OF_PASSES = ['passes', 'sampleRate', 'tempo', 'meter'] as const;

/** Everything that can be compared: which sides there are, how loud they are, and how they are matched. */
export class ListeningRoom {
  private readonly levels: SideLevels;
  private readonly prints: PassPrints;
  private session: Session | null = null;
  private rendered: Rendered | null = null;
  private seconds = 0;
  private compared: readonly Heard[] = [];
  private heard: Heard = 'mix';
  private matching = true;
  private range: Range | null = null;
  private loaded: ReadonlyMap<string, Audio> = new Map();
  private overviews = new WeakMap<Audio, Overview>();

  constructor(
    private readonly player: Player,
    meter: LevelMeter,
    studio: Studio,
    changeWithout: (path: string) => number | null | undefined,
    private readonly show: (view: ListeningView) => void,
  ) {
    this.levels = new SideLevels(meter, () => this.look(), changeWithout);
    this.prints = new PassPrints(studio, () => this.takePrints());
  }

  /** Nothing of the last song stays. */
  clear(): void {
    this.session = null;
    this.rendered = null;
    this.seconds = 0;
    this.compared = [];
    this.loaded = new Map();
    this.levels.clear();
    this.prints.clear();
    this.player.load(null, new Map());
    this.look();
  }

  /** The session after an edit, or as it was with more files in hand: its passes may be others, or sound otherwise. */
  follow(session: Session): void {
    const before = this.session;
    this.session = session;
    if (before === null || before === session || PARTS_OF_PASSES.some((part) => before[part] !== session[part]))
      this.want();
  }

  /** What was rendered and has been overtaken by a newer edit: it is heard, until that is there, and not measured. */
  takeOvertaken(rendered: Rendered): void {
    this.rendered = rendered;
    this.levels.unsettle();
    this.load();
    this.look();
  }

  /** What has been rendered; `seconds` is the length of the song. */
  take(rendered: Rendered, seconds: number): void {
    const before = this.rendered;
    const isNew =
      !before ||
      rendered.paths !== before.paths ||
      rendered.rough !== before.rough ||
      rendered.received !== before.received ||
      seconds !== this.seconds;
    this.rendered = rendered;
    this.seconds = seconds;
    if (seconds > 0) this.levels.over(this.range, rendered.plan.sampleRate);
    this.levels.sound('rough', rendered.rough);
    this.levels.sound('received', rendered.received);
    if (isNew) this.load();
    this.levels.wholeMix(undefined);
    this.askBlend(true);
    this.look();
  }

  private load(): void {
    const { rendered, seconds, loaded } = this;
    if (!rendered) return;
    const { plan, paths, received, rough } = rendered;
    const { sampleRate, mixBus } = plan;
    this.player.load({ sampleRate, seconds, rough, received, paths, mixBus, passes: loaded }, gainsOf(plan));
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

  hear(heard: Heard, veiled: boolean): void {
    this.heard = heard;
    if (passIn(heard) !== null) this.want();
    this.askBlend(false);
    // Its level is set before it is heard.
    this.look();
    this.player.hear(heard, veiled);
  }

  match(on: boolean): void {
    this.matching = on;
    this.look();
  }

  loop(range: Range | null): void {
    this.range = range;
    if (this.rendered) this.levels.over(range, this.rendered.plan.sampleRate);
    this.look();
  }

  /** The envelope of a pass; null for what is not a print of one. */
  passOverview(heard: Heard): Overview | null {
    const sound = this.loaded.get(passIn(heard) ?? '');
    if (!sound) return null;
    const overview = this.overviews.get(sound) ?? overviewOf(sound, this.seconds);
    this.overviews.set(sound, overview);
    return overview;
  }

  private get sides(): readonly Heard[] {
    return [...new Set([...this.compared, this.heard])];
  }

  /** Levels without a path: of what is compared, then of every other, as it may be flipped to. */
  private askBlend(isNew: boolean): void {
    const compared = this.sides.filter((side) => leftOut(side) !== null);
    const paths = this.rendered?.received ? this.rendered.plan.paths : [];
    const all = paths.map(({ id }): Heard => `without:${id}`);
    this.levels.blend(
      compared,
      all.filter((side) => !compared.includes(side)),
      isNew,
    );
  }

  /** What leaving paths out changes is known, or known anew. */
  changesKnown(): void {
    this.levels.foresee();
  }

  private want(): void {
    if (this.session)
      this.prints.want(
        this.session,
        this.sides.map(passIn).filter((id) => id !== null),
      );
  }

  private takePrints(): void {
    const { sounds } = this.prints;
    const isNew = sounds.size !== this.loaded.size || [...sounds].some(([id, sound]) => this.loaded.get(id) !== sound);
    if (isNew) {
      for (const id of this.loaded.keys()) if (!sounds.has(id)) this.levels.sound(`pass:${id}`, null);
      this.loaded = sounds;
      for (const [id, sound] of sounds) this.levels.sound(`pass:${id}`, sound);
      this.load();
    }
    this.look();
  }

  /**
   * What can be heard at once: beside others, a side only when its level is known, so that it never comes in too loud.
   * What is heard already stays.
   */
  private audible(): readonly Heard[] {
    const { rendered } = this;
    if (!rendered) return [];
    const { plan, rough, received } = rendered;
    const there: readonly Heard[] = [
      ...(rough ? (['rough'] as const) : []),
      ...(received ? (['received', 'mix'] as const) : []),
      ...[...this.loaded.keys()].map((id): Heard => `pass:${id}`),
      ...(received ? plan.paths.map(({ id }): Heard => `without:${id}`) : []),
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
    const { lufs, downDb } = matchingOf(levels, countedOf(levels, compared, others));
    this.player.setMatch(this.matching ? downDb : new Map());
    this.show({
      audible,
      matchedLufs: lufs,
      comparison: {
        levels,
        unsettled: new Set([...all].filter(([, { settled }]) => !settled).map(([side]) => side)),
        preparing: new Map(this.prints.preparing),
        faults: new Map(this.prints.faults),
      },
    });
  }
}

const isAlways = (side: Heard): boolean => side === 'rough' || side === 'received' || side === 'mix';
