import type { GainReductionTrace } from '../dsp/core/processor.ts';
import type { PlanMixBus } from '../render/plan/plan.ts';
import { MIX } from '../session/chain/chain-edits.ts';
import { addScaled, addShared } from './add-scaled.ts';
import { Deck } from './deck.ts';
import { DeckFade } from './deck-fade.ts';
import type { FeedAnswer, StretchName } from './feed-messages.ts';
import type { GainRamp } from './gain-ramp.ts';
import { HeardGains, MOVE_SECONDS } from './heard-gains.ts';
import type { DirectMoves, LiveOrder, LiveReport } from './live-messages.ts';
import { LivePaths } from './live-paths.ts';
import { soundsIn, type LoopFrames, type PlayedSound, type Program } from './played-sound.ts';
import { MonitorChecks, type MonitorCheck } from './monitor-check.ts';
import { startingPoint } from './position.ts';
import { SongBus } from './song-bus.ts';
import type { Anchor, Gains } from './song-messages.ts';
import { SongMeters, type Reading } from './song-meters.ts';
import { StretchShelf } from './stretch-shelf.ts';

/** Frames worked out at once. */
const BLOCK = 128;
/** Crossfade from one place, or one program, to another, seconds: short, and too long to click. */
const FADE_SECONDS = 0.02;
/** Crossfade at the join of a loop, seconds. */
const JOIN_SECONDS = 0.005;
/** Stretches are asked for this far ahead, seconds: the feed may be busy with other work. */
const AHEAD_SECONDS = 2;
/** A place is jumped to once it is there for this long; what plays on in other sound is in no haste: seconds. */
const READY_SECONDS = 0.2;
const AT_EASE_SECONDS = 0.8;
/** What had to wait for sound that is being rendered goes on once so much of it is there, or it would soon wait again: seconds. */
const WAITED_SECONDS = 1.5;
/** What is wanted is looked at this often, frames. */
const LOOK_FRAMES = 512;

/** Whoever is told of what happens; called from `process`. */
export interface SongListener {
  /** Stretches to be asked for, the most urgent first; and samples that are no longer used. */
  ask(names: readonly StretchName[], used: readonly Float32Array[]): void;
  /** What is played has changed: see `sounds`. */
  holds(): void;
  plays(anchor: Anchor): void;
  /** What is heard from a frame of the song on is not there yet; it plays from there once it is. */
  waits(place: number, jump: number): void;
  ended(): void;
  /** For the engine's worker, which makes live strips. */
  tellLive(report: LiveReport): void;
  /** Meters were read; only while something plays and meters are wanted. */
  read(reading: Reading): void;
}

/** Where playing is to go on: at a place in the song, or (null) where it is. */
interface Jump {
  readonly place: number | null;
  readonly number: number;
  /** True where it waits in silence for what is not there yet: it begins once there is some more of it. */
  readonly waits?: true;
}

/**
 * Plays the song out of stretches: sums the paths at their gains in double precision and a fixed order, runs the mix bus, and lets one of
 * all sides be heard. All sides are read at all times from one clock, so that a switch is a ramp of gains. Where playing jumps, and
 * where there is new sound, it goes on as before until the other is there, and fades over.
 */
export class SongMixer {
  readonly shelf = new StretchShelf();
  /** Times that a stretch came too late, so that silence stood in for it. */
  lateStretches = 0;
  private program: Program | null = null;
  private loop: LoopFrames | null = null;
  /** What comes next, as soon as it is there and no fade is under way. */
  private next: Jump | 'stop' | null = null;
  private lastJump = 0;
  /** A stretch is missing in this block, and was in the last. */
  private lacks = false;
  private lacked = false;
  /** In this block; paths that nobody hears may lack. */
  private isMixHeard = false;
  private lookIn = 0;
  /** When the next block begins, and when the block in hand did. */
  private clock = 0;
  private now = 0;

  private wantsMeters = false;
  /** From the start of playing to its end. */
  private meters: SongMeters | null = null;
  private readonly chains = new Map<string, readonly (GainReductionTrace | null)[]>();

  private readonly bus: SongBus;
  private readonly live: LivePaths;
  private readonly gains: HeardGains;
  private readonly fade: DeckFade;
  private readonly checks: MonitorChecks;

  private readonly sumLeft = new Float64Array(BLOCK);
  private readonly sumRight = new Float64Array(BLOCK);
  private readonly outLeft = new Float64Array(BLOCK);
  private readonly outRight = new Float64Array(BLOCK);
  private readonly readLeft = new Float32Array(BLOCK);
  private readonly readRight = new Float32Array(BLOCK);

  constructor(
    private readonly sampleRate: number,
    private readonly listener: SongListener,
  ) {
    const frames = (seconds: number): number => Math.round(seconds * sampleRate);
    this.gains = new HeardGains(sampleRate, BLOCK);
    this.fade = new DeckFade(frames(FADE_SECONDS), BLOCK);
    this.bus = new SongBus(sampleRate, frames(MOVE_SECONDS), BLOCK);
    this.live = new LivePaths(sampleRate, this.fade.frames, BLOCK, (report) => this.tellLive(report));
    this.checks = new MonitorChecks(sampleRate, frames(MOVE_SECONDS), BLOCK);
  }

  /** What is played from now on; what plays goes on at the same place. null: nothing. */
  load(program: Program | null): void {
    this.program = program;
    if (!program) this.stop();
    else this.goOn();
    this.listener.holds();
  }

  /** Numbers of the sounds of what plays, fades out, and is to play. */
  get sounds(): readonly number[] {
    const programs = [this.program, this.fade.deck?.program, this.fade.leaving?.program];
    const all = [...programs.flatMap((program) => (program ? soundsIn(program) : [])), ...this.live.sounds];
    return [...new Set(all.map(({ id }) => id))];
  }

  setLoop(loop: LoopFrames | null): void {
    this.loop = loop && loop.to > loop.from ? loop : null;
    this.goOn();
  }

  /** Another deck at the same place, unless nothing plays or another place is on its way. */
  private goOn(): void {
    if (this.fade.deck && this.next === null) this.next = { place: null, number: this.lastJump };
  }

  /** Plays from a frame of the song, as soon as it is there. */
  play(place: number, number: number): void {
    this.next = { place, number };
  }

  stop(): void {
    this.next = this.fade.deck ? 'stop' : null;
  }

  set(gains: Gains, throughSilence: boolean): void {
    this.gains.set(gains, throughSilence);
  }

  setMixBus(mixBus: PlanMixBus): void {
    const before = this.bus.latency;
    this.bus.set(mixBus);
    // All else comes as late as what passes the mix bus.
    if (this.bus.latency !== before) this.goOn();
  }

  /** What the engine's worker says of live strips. */
  hearLive(order: LiveOrder): void {
    if ('locate' in order) this.tellWhere(false);
    else this.live.hear(order);
    if ('rig' in order) this.listener.holds();
  }

  /** What the page says of chains that may run live. */
  moveLive(moves: DirectMoves): void {
    this.live.move(moves);
  }

  private tellLive(report: LiveReport): void {
    this.listener.tellLive(report);
    if ('rig' in report && report.became !== 'live') this.listener.holds();
  }

  private tellWhere(moved: boolean): void {
    const { fade, clock } = this;
    const { deck } = fade;
    const whereabouts = { place: deck?.pathsAt(clock) ?? null, loop: deck?.loop ?? null, moved };
    this.listener.tellLive({ whereabouts });
  }

  setCheck(check: MonitorCheck | null): void {
    this.checks.set(check);
  }

  /** Whether meters are read. */
  setMetering(on: boolean): void {
    this.wantsMeters = on;
    this.meters = null;
  }

  /** Writes the next `frames` frames, from the moment `clock` of the audio clock on. */
  process(clock: number, left: Float32Array, right: Float32Array, frames: number): void {
    for (let at = 0; at < frames;) {
      this.turn(clock + at);
      const steady = this.fade.isSteady(clock + at);
      const count = Math.min(BLOCK, frames - at, this.live.turn(this.fade.deck, clock + at, steady));
      this.mix(clock + at, count);
      for (let i = 0; i < count; i++) {
        left[at + i] = this.readLeft[i] = this.outLeft[i]!;
        right[at + i] = this.readRight[i] = this.outRight[i]!;
      }
      this.measure(clock + at, count);
      at += count;
      this.clock = clock + at;
    }
  }

  /** Adds the block that was heard to the meters. */
  private measure(clock: number, count: number): void {
    const { fade, meters } = this;
    const { deck } = fade;
    if (!deck) this.meters = null;
    if (!deck || !this.wantsMeters) return;
    if (!meters) {
      this.meters = new SongMeters(this.sampleRate);
      return;
    }
    meters.addHeard(this.readLeft, this.readRight, count);
    if (!meters.isDue) return;
    this.chains.clear();
    this.chains.set(MIX, this.bus.traces);
    this.live.addTraces(this.chains);
    const paths = deck.program.paths.map(([id]) => id);
    const place = deck.heardAt(clock + count) / this.sampleRate;
    this.listener.read(meters.read(place, paths, this.chains, this.lateStretches));
  }

  /** What happens between two blocks. */
  private turn(clock: number): void {
    this.endFade(clock);
    if (this.next !== null && !this.fade.leaving) this.takeNext(clock);
    if (this.fade.deck?.isOver(clock)) {
      this.fadeTo(null, clock);
      this.listener.ended();
    }
    this.lookIn -= BLOCK;
    if (this.lookIn > 0) return;
    if (!this.fade.leaving) this.waitWhereNone(clock);
    this.look(clock);
  }

  private endFade(clock: number): void {
    if (!this.fade.end(clock)) return;
    if (!this.fade.deck) this.live.end();
    this.gains.keepOnly(this.program);
    this.listener.holds();
  }

  private takeNext(clock: number): void {
    const { next, program } = this;
    if (next === 'stop') {
      this.fadeTo(null, clock);
      this.next = null;
      return;
    }
    if (!next || !program) return;
    const place = this.placeOf(next, program, clock);
    if (!this.isReady(program, place, readySeconds(next))) return;
    this.next = null;
    this.lastJump = next.number;
    const moves = next.place !== null || !this.fade.deck;
    this.fadeTo(this.deckAt(program, place, clock), clock);
    if (moves) this.tellWhere(true);
  }

  private deckAt(program: Program, place: number, clock: number): Deck {
    const { loop, bus } = this;
    const start = { clock, place, loop, late: bus.latency };
    return new Deck(program, start, Math.round(JOIN_SECONDS * this.sampleRate), BLOCK);
  }

  /** Where a jump leads, from this moment on. */
  private placeOf({ place }: Jump, program: Program, clock: number): number {
    const wanted = place ?? this.fade.deck?.heardAt(clock + this.bus.latency) ?? 0;
    const { loop, sampleRate } = this;
    const seconds = loop && { startSeconds: loop.from / sampleRate, endSeconds: loop.to / sampleRate };
    return Math.round(startingPoint(wanted / sampleRate, program.frames / sampleRate, seconds) * sampleRate);
  }

  private isReady(program: Program, place: number, seconds: number): boolean {
    const to = this.endOf(place, seconds);
    const { live, shelf } = this;
    const heard = this.gains.heardIn(program);
    return (
      // What is not heard need not be there: it is asked for until it is.
      soundsIn(program).every(
        (sound) => shelf.has(sound, place, to) || (!heard.has(sound) && shelf.lacks(sound, place, to)),
      ) && live.sounds.every((sound) => shelf.has(sound, place, to + live.ahead))
    );
  }

  /** The end of what is looked at from a place on; what lies after the end of a loop is not played. */
  private endOf(place: number, seconds: number): number {
    const to = place + Math.round(seconds * this.sampleRate);
    return this.loop && place < this.loop.to ? Math.min(to, this.loop.to) : to;
  }

  private isThere(program: Program, from: number, to: number): boolean {
    for (const sound of this.gains.heardIn(program)) if (this.shelf.lacks(sound, from, to)) return false;
    return true;
  }

  /** Nothing is heard where playing, or a jump, comes to what is not there yet: it goes on from there once it is. */
  private waitWhereNone(clock: number): void {
    const { next, program } = this;
    const { deck } = this.fade;
    if (next === 'stop' || next?.waits) return;
    if (next && next.place !== null) {
      if (!program) return;
      const place = this.placeOf(next, program, clock);
      if (!this.isThere(program, place, this.endOf(place, READY_SECONDS)))
        this.beginToWait({ ...next, waits: true }, place, clock);
    } else if (deck) {
      const place = deck.heardAt(clock);
      const to = place + deck.start.late + this.fade.frames + 2 * LOOK_FRAMES;
      if (this.isThere(deck.program, place, deck.loop ? Math.min(to, deck.loop.to) : to)) return;
      this.beginToWait({ place, number: this.lastJump, waits: true }, place, clock);
    }
  }

  private beginToWait(jump: Jump, place: number, clock: number): void {
    this.next = jump;
    if (this.fade.deck) this.fadeTo(null, clock);
    this.listener.waits(place, jump.number);
  }

  private fadeTo(deck: Deck | null, clock: number): void {
    this.fade.to(deck, clock);
    if (!deck) {
      this.tellWhere(true);
      return;
    }
    const { place, loop, late } = deck.start;
    this.listener.plays({ clock: clock + late, place, loop, jump: this.lastJump });
  }

  /** Says which stretches are wanted. */
  private look(clock: number): void {
    this.lookIn = LOOK_FRAMES;
    const { shelf, next, program, sampleRate } = this;
    const { deck, leaving } = this.fade;
    shelf.begin(clock);
    const frames = (seconds: number): number => Math.round(seconds * sampleRate);
    if (leaving) this.wantAhead(leaving, clock, this.fade.frames + BLOCK);
    if (deck) this.wantAhead(deck, clock, frames(READY_SECONDS));
    if (next && next !== 'stop' && program) {
      const coming = this.deckAt(program, this.placeOf(next, program, clock), clock);
      this.wantAhead(coming, clock, frames(readySeconds(next)) + LOOK_FRAMES);
    }
    if (deck) this.wantAhead(deck, clock, frames(AHEAD_SECONDS));
    const asks = shelf.ask();
    if (asks.length > 0) this.listener.ask(asks, shelf.takeDropped());
  }

  private wantAhead(deck: Deck, clock: number, frames: number): void {
    const sounds = [...soundsIn(deck.program), ...this.live.sounds];
    deck.eachAhead(clock, frames + this.live.ahead, (index) => {
      for (const sound of sounds) this.shelf.want(sound, index);
    });
  }

  /** What the feed has answered. */
  take(answer: FeedAnswer): void {
    this.shelf.take(answer);
    this.lookIn = 0;
  }

  private mix(clock: number, count: number): void {
    const { sumLeft, sumRight, outLeft, outRight, bus, fade, gains } = this;
    gains.advance(count);
    sumLeft.fill(0);
    sumRight.fill(0);
    outLeft.fill(0);
    outRight.fill(0);
    this.now = clock;
    this.isMixHeard = gains.sideOf('mix')?.isClosed === false;
    const place = (fade.deck ?? fade.leaving)?.pathsAt(clock) ?? 0;
    this.live.rig?.process(this.readPlaying, clock, count, place);
    for (const deck of fade.playing)
      for (const [id, sound] of deck.program.paths) this.addPath(deck, id, sound, clock, count);
    bus.process(sumLeft, sumRight, count, place);
    const mix = gains.sideOf('mix');
    if (mix) addScaled(bus.left, bus.right, mix, null, count, outLeft, outRight);
    for (const deck of fade.playing)
      for (const [side, sound] of deck.program.sides)
        this.add(deck, sound, gains.sideOf(side), clock, true, count, outLeft, outRight);
    this.checks.process(outLeft, outRight, count);
    gains.cover(outLeft, outRight, count);
    if (this.lacks && !this.lacked) this.lateStretches++;
    this.lacked = this.lacks;
    this.lacks = false;
  }

  private addPath(deck: Deck, id: string, sound: PlayedSound, clock: number, count: number): void {
    const gain = this.gains.pathOf(id);
    if (!gain || gain.isClosed) return;
    const { rig } = this.live;
    const live = rig?.pathOf(id);
    if (!live || !rig) {
      this.add(deck, sound, gain, clock, false, count, this.sumLeft, this.sumRight);
      if (deck === this.fade.deck) this.meters?.addPath(id, this.readLeft, this.readRight, gain.value, count);
      return;
    }
    if (!rig.isFull) this.addRest(deck, sound, gain, rig.share, clock, count);
    if (deck !== (this.fade.deck ?? this.fade.leaving)) return;
    const weights = this.fade.deck ? null : this.fade.weightsOf(deck, clock, false, count);
    addShared(live.left, live.right, gain, rig.share, weights, count, this.sumLeft, this.sumRight);
    this.meters?.addPath(id, live.left, live.right, gain.value, count);
  }

  /** Adds what is still heard of a rendered path that is about to run live, or comes back from that. */
  private addRest(deck: Deck, sound: PlayedSound, gain: GainRamp, share: GainRamp, clock: number, count: number): void {
    const { readLeft, readRight } = this;
    if (!deck.read(this.shelf, sound, clock, count, readLeft, readRight)) this.lacks = true;
    for (let i = 0; i < count; i++) {
      const rest = 1 - (share.moves ? share.block[i]! : share.value);
      readLeft[i]! *= rest;
      readRight[i]! *= rest;
    }
    addScaled(
      readLeft,
      readRight,
      gain,
      this.fade.weightsOf(deck, clock, false, count),
      count,
      this.sumLeft,
      this.sumRight,
    );
  }

  /** Reads a sound as it plays from a moment on, over both decks of a fade. */
  private readonly readPlaying = (
    sound: PlayedSound,
    clock: number,
    count: number,
    left: Float32Array,
    right: Float32Array,
  ): void => {
    const { readLeft, readRight } = this;
    left.fill(0, 0, count);
    right.fill(0, 0, count);
    for (const deck of this.fade.playing) {
      if (!deck.read(this.shelf, sound, clock, count, readLeft, readRight)) this.lacks = true;
      const weights = this.fade.weightsOf(deck, this.now, false, count);
      for (let i = 0; i < count; i++) {
        const weight = weights ? weights[i]! : 1;
        left[i]! += weight * readLeft[i]!;
        right[i]! += weight * readRight[i]!;
      }
    }
  };

  /** Adds a sound at its gain. A side comes as late as the paths that pass the mix bus. */
  private add(
    deck: Deck,
    sound: PlayedSound,
    gain: GainRamp | undefined,
    clock: number,
    isSide: boolean,
    count: number,
    left: Float64Array,
    right: Float64Array,
  ): void {
    if (!gain || gain.isClosed) return;
    const { readLeft, readRight } = this;
    const at = isSide ? clock - deck.start.late : clock;
    const isThere = deck.read(this.shelf, sound, at, count, readLeft, readRight);
    if (!isThere && (isSide || this.isMixHeard)) this.lacks = true;
    addScaled(readLeft, readRight, gain, this.fade.weightsOf(deck, clock, isSide, count), count, left, right);
  }
}

const readySeconds = ({ place, waits }: Jump): number => {
  if (waits) return WAITED_SECONDS;
  return place === null ? AT_EASE_SECONDS : READY_SECONDS;
};
