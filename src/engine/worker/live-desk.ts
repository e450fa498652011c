import type { Sound } from '../../audio/audio.ts';
import type { LiveFeed, LiveOrder, LiveReport, Whereabouts } from '../../audition/live-messages.ts';
import type { RunningState } from '../../dsp/core/running-state.ts';
import type { NodeRef, Plan } from '../../render/plan/plan.ts';
import type { Frames } from '../excerpt.ts';
import { inSlices } from '../slices.ts';
import { livePlanOf, movesBetween, type FeedOf, type LivePlan } from './live-plan.ts';
import type { SoundRef } from './protocol.ts';
import { chainLoad, WarmUp, type WarmFeed } from './warm-up.ts';

/** Largest part of the audio thread's time for live strips and the mix bus together. */
const MOST_LOAD = 0.6;
/** Sound that strips have run before their load is measured, seconds. */
const TRIED_SECONDS = 1;
/** Time ahead of the playhead at which live strips are started, seconds; doubled when they were too late. */
const HEAD_START_SECONDS = 0.15;
const MOST_TRIES = 4;
/** Longest time for catching up with the playhead, seconds. */
const LONGEST_CHASE_SECONDS = 8;
/** Where a path cannot run live, a section of this length at the playhead is rendered first; a loop up to this length as a whole: seconds. */
const SECTION_SECONDS = 10;
export const LONGEST_SECTION_SECONDS = 30;
/** Control blocks of a render begin at multiples of this, frames. */
const GRID = 64;

/** Functions of the engine's worker that the desk needs. */
interface LiveHost {
  /** The plan that was rendered last and is playing; null: none. */
  rendered(): Plan | null;
  /** Rendered sound that the player may read, by its node. null: it is gone. */
  soundFor(ref: NodeRef): Sound | null;
  /** Numbers of the sounds that the player reads, valid until the next call. */
  refsOf(sounds: readonly Sound[]): readonly SoundRef[];
  /** The sound that plays of each path. */
  played(): ReadonlyMap<string, SoundRef>;
  /** Edition of the current session. */
  edition(): number;
  /** Called when playback begins, jumps or ends. */
  moved(): void;
  /** Reports which path runs live, with a note for the user. */
  tell(path: string | null, note: string): void;
}

/** Live strips that run in the player, or have been sent to it. */
interface Rig {
  readonly number: number;
  readonly touched: string;
  /** The strips as last sent. */
  live: LivePlan;
  /** Its input has changed: it is ended as soon as the render is complete. */
  isStale: boolean;
  leaves: boolean;
}

const TOO_MUCH =
  'This path needs more processor time than the machine has during playback: changes are first rendered at the playhead, and heard then.';

/** Runs paths live in the player while they are edited. */
export class LiveDesk {
  private send: (order: LiveOrder, transfer?: Transferable[]) => void = () => {};
  private touched: string | null = null;
  /** The plan of the current session. */
  private plan: Plan | null = null;
  private where: Whereabouts = { place: null, loop: null, moved: false };
  private whereSince = 0;
  private located: (() => void)[] = [];
  private rig: Rig | null = null;
  /** Number of the running warm-up; another number ends it. */
  private warming: string | null = null;
  private work = 0;
  private lastNumber = 0;
  private tries = 0;
  /** Shape of the strips that needed too much time. */
  private refused = '';

  constructor(private readonly host: LiveHost) {}

  /** Sends orders to another player, or none; strips in the last one have ended. */
  connect(send: (order: LiveOrder, transfer?: Transferable[]) => void): void {
    this.send = send;
    this.where = { place: null, loop: null, moved: false };
    this.drop();
  }

  /** Forgets the song. */
  clear(): void {
    this.plan = null;
    this.refused = '';
    if (this.rig) this.send({ leave: [], number: this.rig.number });
    this.drop();
  }

  private drop(): void {
    this.rig = null;
    this.endWarming();
    this.host.tell(null, '');
  }

  private endWarming(): void {
    this.work++;
    this.warming = null;
  }

  /** The path whose chain is or will be edited; null: none. */
  touch(id: string | null): void {
    if (id === this.touched) return;
    this.touched = id;
    this.refused = '';
    this.tries = 0;
    this.review();
  }

  /** The session has a new plan: settings of live strips move at once. True where some did. */
  follow(plan: Plan): boolean {
    this.plan = plan;
    const { rig } = this;
    if (!rig) return false;
    const live = livePlanOf(plan, rig.touched);
    rig.isStale = live?.shape !== rig.live.shape;
    if (!live || rig.isStale) return false;
    const move = movesBetween(rig.live, live);
    rig.live = live;
    if (move.length > 0) this.send({ move, number: rig.number, edition: this.host.edition() });
    return move.length > 0;
  }

  /** A render has been sent to the player. */
  rendered(): void {
    this.tries = 0;
    this.review();
  }

  /** Handles messages of the player. */
  hear(report: LiveReport): void {
    if ('whereabouts' in report) this.hearWhere(report.whereabouts);
    else if (report.rig === this.rig?.number) this.rigChanged(report.became);
  }

  private hearWhere(where: Whereabouts): void {
    this.where = where;
    this.whereSince = performance.now();
    for (const done of this.located.splice(0)) done();
    if (!where.moved) return;
    this.tries = 0;
    this.endWarming();
    // From the new position on rendered sound is heard, and the strips start again there.
    if (this.rig && where.place !== null && this.isRendered(this.rig)) this.leave(this.rig);
    this.review();
    this.host.moved();
  }

  private rigChanged(became: 'live' | 'missed' | 'gone'): void {
    if (became === 'live') {
      this.host.tell(this.rig!.touched, '');
      return;
    }
    if (became === 'gone') this.host.tell(null, '');
    this.rig = null;
    if (became === 'missed') this.tries++;
    this.review();
  }

  /** Starts, moves or ends live strips as needed. */
  private review(): void {
    const { rig, touched, where } = this;
    if (rig) {
      if ((rig.isStale || rig.leaves || rig.touched !== touched) && this.isRendered(rig)) this.leave(rig);
      return;
    }
    if (this.warming !== null && this.warming !== touched) this.endWarming();
    if (touched === null || where.place === null || this.warming !== null || this.tries >= MOST_TRIES) return;
    void this.warm(touched);
  }

  /** True where the rendered sound of the live paths is of the current session. */
  private isRendered(rig: Rig): boolean {
    const rendered = this.host.rendered();
    if (!rendered || !this.plan) return false;
    const keys = new Map(rendered.strips.map(({ id, key }) => [id, key]));
    const strips = livePlanOf(this.plan, rig.touched)?.strips ?? [];
    return strips.every(({ id, key }) => keys.get(id) === key);
  }

  private leave(rig: Rig): void {
    rig.leaves = true;
    const played = this.host.played();
    const sounds = rig.live.strips.flatMap(({ id }) => {
      const sound = played.get(id);
      return sound ? [[id, sound.id] as const] : [];
    });
    this.send({ leave: sounds, number: rig.number });
  }

  /**
   * The frames that are heard now and in the next seconds: the loop, if it is short. null: nothing plays, or the edited path runs
   * live, or will.
   */
  listenedTo(sampleRate: number): Frames | null {
    const { place, loop } = this.where;
    if (place === null || this.rig || this.warming !== null) return null;
    if (loop && loop.to - loop.from <= LONGEST_SECTION_SECONDS * sampleRate) return loop;
    const from = this.placeIn(0, sampleRate);
    return { from, to: from + SECTION_SECONDS * sampleRate };
  }

  /** Whether this is the loop that plays. */
  isInLoop(span: Frames): boolean {
    const { loop } = this.where;
    return loop !== null && loop.from === span.from && loop.to === span.to;
  }

  /** Position of the paths in `ahead` seconds, frames. */
  private placeIn(ahead: number, sampleRate: number): number {
    const { place, loop } = this.where;
    const seconds = (performance.now() - this.whereSince) / 1000 + ahead;
    const reached = Math.round(place! + seconds * sampleRate);
    return loop && reached >= loop.to ? loop.from + ((reached - loop.from) % (loop.to - loop.from)) : reached;
  }

  private async locate(): Promise<void> {
    const answered = new Promise<void>((resolve) => this.located.push(resolve));
    this.send({ locate: true });
    await answered;
  }

  /** Runs the strips over the sound before the playhead until they are a little ahead of it, and sends them to the player. */
  private async warm(touched: string): Promise<void> {
    this.warming = touched;
    const work = ++this.work;
    const isOver = (): boolean => this.work !== work;
    const plan = this.host.rendered();
    const live = plan && livePlanOf(plan, touched);
    if (!plan || !live || live.shape === this.refused) {
      this.warming = null;
      return;
    }
    await this.locate();
    const warmed = isOver() || this.where.place === null ? null : await inSlices(this.warmSteps(plan, live), isOver);
    if (isOver()) return;
    this.warming = null;
    if (warmed === 'too much') {
      this.refused = live.shape;
      this.host.tell(null, TOO_MUCH);
    } else if (warmed) this.begin(touched, live, warmed);
  }

  /** null: a sound is gone, or the playhead was not reached; the next render tries again. */
  private *warmSteps(plan: Plan, live: LivePlan): Generator<void, WarmUp | 'too much' | null> {
    const { sampleRate } = plan;
    const strips = live.strips.map(({ spec, from }) => ({ spec, from: from.map((feed) => this.warmFeed(feed)) }));
    if (strips.some(({ from }) => from.includes(null))) return null;
    const warmStrips = strips as readonly { spec: LivePlan['strips'][number]['spec']; from: readonly WarmFeed[] }[];
    const beginAt = (place: number): WarmUp => {
      const before = Math.max(0, place + live.ahead - Math.round(live.memorySeconds * sampleRate));
      return new WarmUp(warmStrips, sampleRate, before - (before % GRID));
    };
    const headStart = HEAD_START_SECONDS * 2 ** this.tries;
    const began = performance.now();
    let fixed: number | null = null;
    const goal = (): number => fixed ?? this.placeIn(headStart, sampleRate) + live.ahead;
    let warm = beginAt(this.placeIn(headStart, sampleRate));
    let last = goal();
    while (warm.at < goal()) {
      if (goal() < last) {
        // The loop has restarted: the strips reach its beginning in the next round.
        const place = this.where.loop!.from + GRID;
        warm = beginAt(place);
        fixed = place + live.ahead;
      }
      last = goal();
      yield* warm.until(Math.min(goal(), warm.at + GRID * GRID));
      if (warm.ranSeconds > TRIED_SECONDS && warm.load > MOST_LOAD) return 'too much';
      if (performance.now() - began > 1000 * LONGEST_CHASE_SECONDS) return 'too much';
    }
    const sound = warmStrips.flatMap(({ from }) => from).find((feed) => 'sound' in feed);
    const bus = sound ? yield* chainLoad(plan.mixBus.steps, sound.sound, warm.at) : 0;
    if (warm.load + bus > MOST_LOAD) return 'too much';
    // The mix bus took too long.
    yield* warm.until(goal());
    return warm;
  }

  private warmFeed(feed: FeedOf): WarmFeed | null {
    if ('strip' in feed) return feed;
    const sound = this.host.soundFor(feed.ref);
    return sound && { sound, latency: feed.latency };
  }

  private begin(touched: string, live: LivePlan, warm: WarmUp): void {
    const number = ++this.lastNumber;
    const { states } = warm;
    const feeds = this.feedsOf(live);
    const strips = live.strips.map(({ id, spec, latency, moving }, n) => ({
      ...{ id, spec, from: feeds[n]!, heldBack: live.ahead - latency, state: states[n]! },
      ...(moving && { moving }),
    }));
    this.rig = { number, touched, live, isStale: false, leaves: false };
    this.send({ rig: { number, place: warm.at - live.ahead, ahead: live.ahead, strips } }, buffersOf(states));
    if (this.plan) this.follow(this.plan);
  }

  /** The sounds that the player reads for each input of each strip. */
  private feedsOf(live: LivePlan): readonly (readonly LiveFeed[])[] {
    const rendered = live.strips.flatMap(({ from }) => from).filter((feed) => 'ref' in feed);
    const refs = this.host.refsOf(rendered.map(({ ref }) => this.host.soundFor(ref)!));
    const known = new Map(rendered.map((feed, n) => [feed, refs[n]!]));
    return live.strips.map(({ from }) =>
      from.map((feed) => ('strip' in feed ? feed : { sound: known.get(feed)!, ahead: live.ahead - feed.latency })),
    );
  }
}

const buffersOf = (states: readonly RunningState[]): Transferable[] => states.flatMap(({ buffers }) => [...buffers]);
