import { smoothStep } from '../dsp/core/smooth-step.ts';
import type { GainReductionTrace } from '../dsp/core/processor.ts';
import type { PlanMixBus } from '../render/plan/plan.ts';
import { MIX } from '../session/chain/chain-edits.ts';
import { Deck } from './deck.ts';
import type { FeedAnswer, StretchName } from './feed-messages.ts';
import { GainRamp } from './gain-ramp.ts';
import type { Heard } from './heard.ts';
import type { DirectMoves, LiveOrder, LiveReport } from './live-messages.ts';
import { LivePaths } from './live-paths.ts';
import { soundsIn, type LoopFrames, type PlayedSound, type Program } from './played-sound.ts';
import { MonitorChecks, type MonitorCheck } from './monitor-check.ts';
import { startingPoint } from './position.ts';
import { SongBus } from './song-bus.ts';
import type { Anchor, Gains } from './song-messages.ts';
import { SongMeters, type Reading } from './song-meters.ts';
import { StretchShelf } from './stretch-shelf.ts';
import { SwitchSilence } from './switch-silence.ts';

/** Frames worked out at once. */
const BLOCK = 128;
/** Time of a move of a gain, seconds: with the way of its message it is done in 20 ms. */
const MOVE_SECONDS = 0.015;
/** Crossfade from one place, or one program, to another, seconds: short, and too long to click. */
const FADE_SECONDS = 0.02;
/** Crossfade at the join of a loop, seconds. */
const JOIN_SECONDS = 0.005;
/** A switch through silence fades to silence and back, each over this time, and stays silent in between, seconds. */
const SWITCH_FADE_SECONDS = 0.02;
const SWITCH_SILENCE_SECONDS = 0.03;
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
  private deck: Deck | null = null;
  /** The deck that fades out, and the one that plays. */
  private playing: readonly Deck[] = [];
  /** The deck that fades out. */
  private leaving: Deck | null = null;
  /** When the last fade began, for paths; the other sides fade this much later, at the same place in the song. */
  private fadeSince = 0;
  private fadeLate = 0;
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
  private readonly paths = new Map<string, GainRamp>();
  private readonly sides = new Map<Heard, GainRamp>();
  private readonly checks: MonitorChecks;
  private readonly silence: SwitchSilence;
  /** Gains that are set once it is silent. */
  private gainsToCome: Gains | null = null;

  private readonly sumLeft = new Float64Array(BLOCK);
  private readonly sumRight = new Float64Array(BLOCK);
  private readonly outLeft = new Float64Array(BLOCK);
  private readonly outRight = new Float64Array(BLOCK);
  private readonly readLeft = new Float32Array(BLOCK);
  private readonly readRight = new Float32Array(BLOCK);
  private readonly weights = new Float64Array(BLOCK);
  private readonly fadeFrames: number;

  constructor(
    private readonly sampleRate: number,
    private readonly listener: SongListener,
  ) {
    const frames = (seconds: number): number => Math.round(seconds * sampleRate);
    this.fadeFrames = frames(FADE_SECONDS);
    this.bus = new SongBus(sampleRate, frames(MOVE_SECONDS), BLOCK);
    this.live = new LivePaths(sampleRate, this.fadeFrames, BLOCK, (report) => this.tellLive(report));
    this.checks = new MonitorChecks(sampleRate, frames(MOVE_SECONDS), BLOCK);
    this.silence = new SwitchSilence(frames(SWITCH_FADE_SECONDS), frames(SWITCH_SILENCE_SECONDS));
  }

  private ramp(value: number): GainRamp {
    return new GainRamp(value, Math.round(MOVE_SECONDS * this.sampleRate), BLOCK);
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
    const programs = [this.program, this.deck?.program, this.leaving?.program];
    const all = [...programs.flatMap((program) => (program ? soundsIn(program) : [])), ...this.live.sounds];
    return [...new Set(all.map(({ id }) => id))];
  }

  setLoop(loop: LoopFrames | null): void {
    this.loop = loop && loop.to > loop.from ? loop : null;
    this.goOn();
  }

  /** Another deck at the same place, unless nothing plays or another place is on its way. */
  private goOn(): void {
    if (this.deck && this.next === null) this.next = { place: null, number: this.lastJump };
  }

  /** Plays from a frame of the song, as soon as it is there. */
  play(place: number, number: number): void {
    this.next = { place, number };
  }

  stop(): void {
    this.next = this.deck ? 'stop' : null;
  }

  set(gains: Gains, throughSilence: boolean): void {
    if (throughSilence) this.silence.begin();
    if (throughSilence || (this.gainsToCome && this.silence.isFadingOut)) this.gainsToCome = gains;
    else this.apply(gains);
    if (!this.silence.isFadingOut) this.lift();
  }

  /** Sets what has waited for silence. */
  private lift(): void {
    const { gainsToCome } = this;
    this.gainsToCome = null;
    if (gainsToCome) this.apply(gainsToCome);
  }

  private apply({ paths, sides }: Gains): void {
    for (const [id, gain] of paths) moved(this.paths, id, gain, () => this.ramp(0));
    for (const [side, gain] of sides) moved(this.sides, side, gain, () => this.ramp(0));
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
    const { deck, clock } = this;
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
      const steady = this.leaving === null && clock + at >= this.fadeSince + this.fadeFrames;
      const count = Math.min(BLOCK, frames - at, this.live.turn(this.deck, clock + at, steady));
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
    const { deck, meters } = this;
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
    if (this.next !== null && !this.leaving) this.takeNext(clock);
    if (this.deck?.isOver(clock)) {
      this.fadeTo(null, clock);
      this.listener.ended();
    }
    this.lookIn -= BLOCK;
    if (this.lookIn > 0) return;
    if (!this.leaving) this.waitWhereNone(clock);
    this.look(clock);
  }

  private endFade(clock: number): void {
    if (!this.leaving || clock < this.fadeSince + this.fadeLate + this.fadeFrames) return;
    this.leaving = null;
    this.playing = this.deck ? [this.deck] : [];
    if (!this.deck) this.live.end();
    this.dropRamps();
    this.listener.holds();
  }

  /** Ramps of what is no longer played. */
  private dropRamps(): void {
    const played = new Set((this.program?.paths ?? []).map(([id]) => id));
    const sides = new Set<Heard>(['mix', ...(this.program?.sides ?? []).map(([side]) => side)]);
    for (const id of this.paths.keys()) if (!played.has(id)) this.paths.delete(id);
    for (const side of this.sides.keys()) if (!sides.has(side)) this.sides.delete(side);
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
    const moves = next.place !== null || !this.deck;
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
    const wanted = place ?? this.deck?.heardAt(clock + this.bus.latency) ?? 0;
    const { loop, sampleRate } = this;
    const seconds = loop && { startSeconds: loop.from / sampleRate, endSeconds: loop.to / sampleRate };
    return Math.round(startingPoint(wanted / sampleRate, program.frames / sampleRate, seconds) * sampleRate);
  }

  private isReady(program: Program, place: number, seconds: number): boolean {
    const to = this.endOf(place, seconds);
    const { live, shelf } = this;
    const heard = this.heardIn(program);
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

  /** Sounds of a program that are heard, or about to be. */
  private heardIn({ paths, sides }: Program): ReadonlySet<PlayedSound> {
    const isMixHeard = this.sides.get('mix')?.isOpen ?? false;
    return new Set([
      ...paths.flatMap(([id, sound]) => (isMixHeard && this.paths.get(id)?.isOpen ? [sound] : [])),
      ...sides.flatMap(([side, sound]) => (this.sides.get(side)?.isOpen ? [sound] : [])),
    ]);
  }

  private isThere(program: Program, from: number, to: number): boolean {
    for (const sound of this.heardIn(program)) if (this.shelf.lacks(sound, from, to)) return false;
    return true;
  }

  /** Nothing is heard where playing, or a jump, comes to what is not there yet: it goes on from there once it is. */
  private waitWhereNone(clock: number): void {
    const { next, deck, program } = this;
    if (next === 'stop' || next?.waits) return;
    if (next && next.place !== null) {
      if (!program) return;
      const place = this.placeOf(next, program, clock);
      if (!this.isThere(program, place, this.endOf(place, READY_SECONDS)))
        this.beginToWait({ ...next, waits: true }, place, clock);
    } else if (deck) {
      const place = deck.heardAt(clock);
      const to = place + deck.start.late + this.fadeFrames + 2 * LOOK_FRAMES;
      if (this.isThere(deck.program, place, deck.loop ? Math.min(to, deck.loop.to) : to)) return;
      this.beginToWait({ place, number: this.lastJump, waits: true }, place, clock);
    }
  }

  private beginToWait(jump: Jump, place: number, clock: number): void {
    this.next = jump;
    if (this.deck) this.fadeTo(null, clock);
    this.listener.waits(place, jump.number);
  }

  private fadeTo(deck: Deck | null, clock: number): void {
    this.fadeSince = clock;
    this.fadeLate = (deck ?? this.deck)?.start.late ?? 0;
    this.leaving = this.deck;
    this.deck = deck;
    this.playing = [this.leaving, deck].filter((each) => each !== null);
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
    const { shelf, deck, leaving, next, program, sampleRate } = this;
    shelf.begin(clock);
    const frames = (seconds: number): number => Math.round(seconds * sampleRate);
    if (leaving) this.wantAhead(leaving, clock, this.fadeFrames + BLOCK);
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
    const { sumLeft, sumRight, outLeft, outRight, bus } = this;
    for (const ramp of this.paths.values()) ramp.advance(count);
    for (const ramp of this.sides.values()) ramp.advance(count);
    sumLeft.fill(0);
    sumRight.fill(0);
    outLeft.fill(0);
    outRight.fill(0);
    this.now = clock;
    this.isMixHeard = this.sides.get('mix')?.isClosed === false;
    const place = (this.deck ?? this.leaving)?.pathsAt(clock) ?? 0;
    this.live.rig?.process(this.readPlaying, clock, count, place);
    for (const deck of this.playing)
      for (const [id, sound] of deck.program.paths) this.addPath(deck, id, sound, clock, count);
    bus.process(sumLeft, sumRight, count, place);
    const mix = this.sides.get('mix');
    if (mix) addScaled(bus.left, bus.right, mix, null, count, outLeft, outRight);
    for (const deck of this.playing)
      for (const [side, sound] of deck.program.sides)
        this.add(deck, sound, this.sides.get(side), clock, true, count, outLeft, outRight);
    this.checks.process(outLeft, outRight, count);
    this.cover(count);
    if (this.lacks && !this.lacked) this.lateStretches++;
    this.lacked = this.lacks;
    this.lacks = false;
  }

  private addPath(deck: Deck, id: string, sound: PlayedSound, clock: number, count: number): void {
    const gain = this.paths.get(id);
    if (!gain || gain.isClosed) return;
    const { rig } = this.live;
    const live = rig?.pathOf(id);
    if (!live || !rig) {
      this.add(deck, sound, gain, clock, false, count, this.sumLeft, this.sumRight);
      if (deck === this.deck) this.meters?.addPath(id, this.readLeft, this.readRight, gain.value, count);
      return;
    }
    if (!rig.isFull) this.addRest(deck, sound, gain, rig.share, clock, count);
    if (deck !== (this.deck ?? this.leaving)) return;
    const weights = this.deck ? null : this.weightsOf(deck, clock, false, count);
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
    addScaled(readLeft, readRight, gain, this.weightsOf(deck, clock, false, count), count, this.sumLeft, this.sumRight);
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
    for (const deck of this.playing) {
      if (!deck.read(this.shelf, sound, clock, count, readLeft, readRight)) this.lacks = true;
      const weights = this.weightsOf(deck, this.now, false, count);
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
    addScaled(readLeft, readRight, gain, this.weightsOf(deck, clock, isSide, count), count, left, right);
  }

  /** How far a deck has faded in or out at each frame; null: it is heard in full. */
  private weightsOf(deck: Deck, clock: number, isSide: boolean, count: number): Float64Array | null {
    const since = clock - this.fadeSince - (isSide ? this.fadeLate : 0);
    const isLeaving = deck === this.leaving;
    if (!isLeaving && since >= this.fadeFrames) return null;
    const { weights, fadeFrames } = this;
    for (let i = 0; i < count; i++) {
      const share = smoothStep(Math.min(1, Math.max(0, (since + i + 0.5) / fadeFrames)));
      weights[i] = isLeaving ? 1 - share : share;
    }
    return weights;
  }

  private cover(count: number): void {
    const { silence, outLeft, outRight } = this;
    if (silence.isOpen) return;
    for (let i = 0; i < count; i++) {
      const gain = silence.isOpen ? 1 : silence.next();
      outLeft[i]! *= gain;
      outRight[i]! *= gain;
    }
    if (!silence.isFadingOut) this.lift();
  }
}

const readySeconds = ({ place, waits }: Jump): number => {
  if (waits) return WAITED_SECONDS;
  return place === null ? AT_EASE_SECONDS : READY_SECONDS;
};

const moved = <Name>(ramps: Map<Name, GainRamp>, name: Name, gain: number, fresh: () => GainRamp): void => {
  const ramp = ramps.get(name) ?? fresh();
  ramps.set(name, ramp);
  ramp.set(gain);
};

const addScaled = (
  left: Float32Array,
  right: Float32Array,
  gain: GainRamp,
  weights: Float64Array | null,
  count: number,
  sumLeft: Float64Array,
  sumRight: Float64Array,
): void => {
  const { moves, block, value } = gain;
  for (let i = 0; i < count; i++) {
    const scale = (moves ? block[i]! : value) * (weights ? weights[i]! : 1);
    sumLeft[i]! += scale * left[i]!;
    sumRight[i]! += scale * right[i]!;
  }
};

/** The same for a live path: what it has taken over of the rendered one. */
const addShared = (
  left: Float64Array,
  right: Float64Array,
  gain: GainRamp,
  share: GainRamp,
  weights: Float64Array | null,
  count: number,
  sumLeft: Float64Array,
  sumRight: Float64Array,
): void => {
  for (let i = 0; i < count; i++) {
    const taken = (share.moves ? share.block[i]! : share.value) * (weights ? weights[i]! : 1);
    const scale = (gain.moves ? gain.block[i]! : gain.value) * taken;
    sumLeft[i]! += scale * left[i]!;
    sumRight[i]! += scale * right[i]!;
  }
};
