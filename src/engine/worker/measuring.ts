import { checkGuards, type Guarded, type GuardReference } from '../../blend/guards/guards.ts';
import { ledgerRows, mixFiguresOf, type LedgerBasis, type LedgerInput } from '../../blend/ledger/ledger.ts';
import { framesOf, placedSound, type Sound } from '../../audio/audio.ts';
import type { PathOrigin } from '../../dsp/core/arrival.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { gainsOf, mixBusStepsIn, summedPaths } from '../../render/mix.ts';
import type { Plan } from '../../render/plan.ts';
import { Scratch } from '../../render/store/scratch.ts';
import { pathNames } from '../../session/graph.ts';
import type { Session } from '../../session/schema.ts';
import type { SideFindings } from '../engine.ts';
import { guardedFigures } from '../../blend/guards/guard-references.ts';
import { BandsClient } from './bands-client.ts';
import { BasisBuild } from './basis-build.ts';
import { BlendLevels } from './blend-levels.ts';
import { overviewSteps } from './overview.ts';
import { sideFindingsSteps } from './side-findings.ts';
import { inSlices, toldOf, turn } from '../slices.ts';
import { answerOf } from '../job.ts';
import type { Song } from '../song.ts';
import { Workshop, type KnownWhole } from '../workshop.ts';
import { LevelAnswers, type LevelsAsked } from './level-answers.ts';
import type { MeasuringListener, Side } from './measuring-listener.ts';
import { receivedGroupsSteps, type ReceivedGroups } from './received-groups.ts';

/** A blend to be measured. */
interface Blend {
  readonly session: Session;
  readonly plan: Plan;
  /** Linear, by path. */
  readonly gains: ReadonlyMap<string, number>;
  /** The length that overviews cover, seconds. */
  readonly seconds: number;
  /** Which of the two are there to be held against. */
  readonly against: readonly Side[];
}

/** A side that is to be measured. */
interface SideWork {
  readonly side: Side;
  readonly audio: Sound;
  readonly seconds: number;
}

/** Parts of the measuring of a blend that are done once it is printed, once the print is measured, and once the tracks are. */
const PRINTED = 0.1;
const PRINT_MEASURED = 0.3;
const RECEIVED_MEASURED = 0.5;

const cuts = new WeakMap<Sound, Sound>();

/** The first `frames` of a sound: the same object as long as it is the same stretch of the same sound. */
const cut = (audio: Sound, frames: number): Sound => {
  const known = cuts.get(audio);
  if (known && framesOf(known) === frames) return known;
  const made = placedSound(audio, 0, Math.min(frames, framesOf(audio)));
  cuts.set(audio, made);
  return made;
};

/** All of what comes one by one: the screen is drawn anew once, not for every row. */
function* gathered<T>(steps: Generator<T>): Generator<void, T[]> {
  const all: T[] = [];
  for (const one of steps) {
    all.push(one);
    yield;
  }
  return all;
}

/**
 * Measures in slices: sides when they arrive, and the newest blend only. What its products tell follows a moving hand at once; the
 * print is measured when the hand rests.
 */
export class Measuring {
  private readonly bands = new BandsClient();
  private readonly levels: LevelAnswers;
  private inputs: readonly LedgerInput[] = [];
  /** Of the newest paths, over the length of a blend of them; null while it is being made. */
  private basis: LedgerBasis | null = null;
  /** The last one, which sounds that have not changed are taken over from. */
  private earlier: LedgerBasis | null = null;
  private building: BasisBuild | null = null;
  /** The measuring of the groups as received, until it is done. */
  private receiving: Generator<number, ReceivedGroups> | null = null;
  private receivedShares: ReadonlyMap<string, number> | null = null;
  /** Groups as received that are one sound with another. */
  private twins: LedgerBasis['twins'] = new Map();
  /** Sides that are to be measured. */
  private readonly arrived = new Map<Side, SideWork>();
  /** As guards look at them. */
  private readonly sides: Record<Side, SideFindings | null> = { rough: null, received: null };
  /** The print of the newest blend, once it is measured. */
  private printed: SideFindings | null = null;
  private newest: Blend | null = null;
  private followed: Blend | null = null;
  /** There is no blend, which is still to be told. */
  private isNothingToTell = false;
  private isBusy = false;

  constructor(
    private readonly song: Song,
    private readonly listener: MeasuringListener,
    /** True while somebody waits for an answer, which comes before what nobody has asked for. */
    isAsked: () => boolean,
  ) {
    this.levels = new LevelAnswers((found) => listener.level(found), isAsked);
  }

  /** A side to be measured: before the blend, which is held against it. */
  measure(side: Side, audio: Sound, seconds: number): void {
    this.arrived.set(side, { side, audio, seconds });
    this.goOn();
  }

  /** New rendered paths. What was measured of a sound that is still there is taken over. */
  paths(paths: RenderedPaths, origins: ReadonlyMap<string, PathOrigin>): void {
    this.inputs = [...paths].map(([id, audio]) => ({ id, audio, ...origins.get(id)! }));
    this.basis = null;
    this.building = null;
    this.newest = null;
    this.levels.of(null);
  }

  /** The groups as received: what is held against them is their share of the loudness. */
  groups(groups: RenderedPaths): void {
    this.receivedShares = null;
    this.receiving = receivedGroupsSteps([...groups].map(([id, audio]) => ({ id, audio })));
  }

  /** The blend as it is now; `seconds` is the length that overviews cover. */
  blend(session: Session, plan: Plan, seconds: number, against: readonly Side[]): void {
    this.newest = { session, plan, seconds, against, gains: gainsOf(plan) };
    this.isNothingToTell = false;
    this.goOn();
  }

  /** Another song: nothing of the last one is measured or told any more. */
  forget(): void {
    this.arrived.clear();
    this.sides.rough = this.sides.received = null;
    this.receiving = this.receivedShares = null;
    this.earlier = null;
    this.paths(new Map(), new Map());
  }

  /** A side is there no more. */
  without(side: Side): void {
    this.arrived.delete(side);
    this.sides[side] = null;
  }

  /** Nothing sounds any more. */
  nothing(): void {
    this.paths(new Map(), new Map());
    this.isNothingToTell = true;
    this.goOn();
  }

  /** Asks for levels of the newest blend; what was asked before is no longer answered. */
  askLevels(asked: LevelsAsked): void {
    this.levels.ask(asked);
    this.goOn();
  }

  /** What is known of the newest blend once its paths are measured; null until then. */
  get known(): KnownWhole | null {
    const { newest, basis, printed } = this;
    if (!newest || !isOf(basis, newest)) return null;
    const references = this.referencesOf(newest);
    // The print is that of the blend that was followed last.
    const isPrinted = printed && this.followed === newest;
    return {
      ...{ query: basis.query, references },
      ...(isPrinted ? { printed: { figures: printed, details: printed.details } } : {}),
    };
  }

  dispose(): void {
    this.bands.dispose();
  }

  private goOn(): void {
    if (this.isBusy) return;
    this.isBusy = true;
    void this.followAll();
  }

  private async followAll(): Promise<void> {
    // What is told in one go is looked at together.
    await turn();
    try {
      await this.followNewest();
    } catch (error) {
      this.isBusy = false;
      this.listener.failed(error);
    }
  }

  private async followNewest(): Promise<void> {
    for (;;) {
      const [side] = this.arrived.values();
      const { newest } = this;
      if (side) await this.measureSide(side);
      else if (this.isNothingToTell) {
        this.isNothingToTell = false;
        this.listener.settled();
      } else if (newest && newest !== this.followed) {
        this.followed = newest;
        await this.follow(newest);
      } else if (newest && this.levels.isOpen) await this.levels.answer(() => this.isOver(newest), true);
      else {
        this.isBusy = false;
        return;
      }
    }
  }

  /** Whether something else comes before this blend. */
  private isOver(blend: Blend): boolean {
    return this.newest !== blend || this.arrived.size > 0;
  }

  private async measureSide(work: SideWork): Promise<void> {
    const { side, audio, seconds } = work;
    const isOver = (): boolean => this.arrived.get(side) !== work;
    const found = await inSlices(sideFindingsSteps(audio), isOver);
    const overview = found && (await inSlices(overviewSteps(audio, seconds), isOver));
    if (!overview) return;
    this.sides[side] = found;
    this.arrived.delete(side);
    // A blend that was followed before is held against it anew.
    this.followed = null;
    this.listener.measured(side, found, overview);
  }

  /** Follows one blend step by step; gives way as soon as a newer one has come. */
  private async follow(blend: Blend): Promise<void> {
    const stale = async (): Promise<boolean> => {
      await turn();
      await this.levels.answer(() => this.isOver(blend), false);
      return this.isOver(blend);
    };
    this.levels.of(null);
    this.printed = null;
    // What is known already follows the hand; a new song shows its print first.
    if (this.basis) await this.tellLedger(blend, this.basis);
    if (await stale()) return;
    await this.tellPrint(blend);
    if (await stale()) return;
    const hasNews = this.receiving !== null || !isOf(this.basis, blend);
    await this.measureReceived(blend);
    if (this.receiving || (await stale())) return;
    if (!isOf(this.basis, blend)) await this.makeBasis(blend);
    if (!isOf(this.basis, blend) || (await stale())) return;
    if (hasNews) await this.tellLedger(blend, this.basis);
    if (!this.printed || (await stale())) return;
    await this.tellGuards(blend, this.printed);
    if (await stale()) return;
    this.listener.settled();
  }

  /** What the paths do to this blend, from their products. */
  private async tellLedger(blend: Blend, known: LedgerBasis): Promise<void> {
    const gains = this.orderedGains(blend);
    const nameOfPath = pathNames(blend.session);
    // The hand is followed at once; peaks take longer to find, and a song of another length is measured first.
    for (const quick of isOf(known, blend) ? [true, false] : [true]) {
      const figures = mixFiguresOf(known, gains, !quick);
      if (!quick) this.listener.sum(figures);
      const making = gathered(ledgerRows(known, gains, figures, !quick, nameOfPath));
      const rows = await inSlices(making, () => this.isOver(blend));
      if (!rows) return;
      this.listener.rows(rows, quick);
    }
  }

  /** Prints this blend and measures the print, which is kept until another one is. */
  private async tellPrint(blend: Blend): Promise<void> {
    const scratch = new Scratch(this.song.room);
    if (!(await this.tellPrintIn(scratch, blend))) scratch.letGo();
  }

  /** False: a newer blend broke in. */
  private async tellPrintIn(scratch: Scratch, blend: Blend): Promise<boolean> {
    const isOver = (): boolean => this.isOver(blend);
    const { plan, gains, seconds } = blend;
    const tellPart = (part: number): void => this.listener.measuring(part);
    const sounds = new Map(this.inputs.map(({ id, audio }) => [id, audio]));
    const printing = toldOf(mixBusStepsIn(scratch, summedPaths(sounds, gains), plan.mixBus), (part) =>
      tellPart(PRINTED * part),
    );
    const whole = await inSlices(printing, isOver);
    if (!whole) return false;
    const print = cut(whole, plan.soundFrames);
    const span = PRINT_MEASURED - PRINTED;
    const measuring = toldOf(sideFindingsSteps(print), (part) => tellPart(PRINTED + span * part));
    const findings = await inSlices(measuring, isOver);
    const overview = findings && (await inSlices(overviewSteps(print, seconds), isOver));
    if (!overview) return false;
    const { room } = this.song;
    this.levels.of(new BlendLevels(sounds, gains, plan.mixBus, print, room, () => scratch.letGo()));
    this.printed = findings;
    this.listener.mix(findings, overview);
    return true;
  }

  /** Measures the groups as received, where that is still to be done, or goes on where a newer blend broke in. */
  private async measureReceived(blend: Blend): Promise<void> {
    const { receiving } = this;
    if (!receiving) return;
    const span = RECEIVED_MEASURED - PRINT_MEASURED;
    const measuring = toldOf(receiving, (part) => this.listener.measuring(PRINT_MEASURED + span * part));
    const found = await inSlices(measuring, () => this.isOver(blend) || this.receiving !== receiving);
    if (!found) return;
    this.receivedShares = found.shares;
    this.twins = found.twins;
    this.receiving = null;
    if (this.basis) this.basis = this.earlier = { ...this.basis, twins: this.twins };
  }

  /** Makes the basis of the newest paths over the length of the song, or goes on where a newer blend broke in. */
  private async makeBasis(blend: Blend): Promise<void> {
    const { soundFrames } = blend.plan;
    if (this.building?.frames !== soundFrames) {
      const cutInputs = this.inputs.map((input) => ({ ...input, audio: cut(input.audio, soundFrames) }));
      this.building = new BasisBuild(cutInputs, this.earlier, this.bands, soundFrames);
    }
    const { building, inputs } = this;
    const query = await building.advance(
      () => this.isOver(blend),
      (part) => this.listener.measuring(RECEIVED_MEASURED + (1 - RECEIVED_MEASURED) * part),
    );
    // Other paths may have come while it was being made.
    if (!query || this.inputs !== inputs) return;
    this.basis = this.earlier = { inputs: building.inputs, received: [], query, twins: this.twins };
    this.building = null;
  }

  private orderedGains({ gains }: Blend): number[] {
    return this.inputs.map(({ id }) => gains.get(id) ?? 0);
  }

  /** Holds the print against the guards; its balance is that before the mix bus. */
  private async tellGuards({ session, plan }: Blend, printed: SideFindings): Promise<void> {
    const mix = { session, plan, paths: new Map(this.inputs.map(({ id, audio }) => [id, audio])) };
    const workshop = new Workshop(this.song, mix, this.known!);
    const space = await answerOf(workshop.space(null));
    const guarded = workshop.guarded(space, { figures: printed, details: printed.details });
    this.listener.guards(checkGuards(space.guards, guarded, space.references));
  }

  /** What a blend is held against: what is there, measured over the whole song. */
  private referencesOf({ against }: Blend): GuardReference[] {
    const { rough, received } = this.sides;
    const of = (side: SideFindings, shares: Guarded['groupShares']): Guarded =>
      guardedFigures(side, side.details, shares);
    return [
      ...(rough && against.includes('rough') ? [{ name: 'rough' as const, ...of(rough, null) }] : []),
      ...(received && against.includes('received')
        ? [{ name: 'mix as received' as const, ...of(received, this.receivedShares) }]
        : []),
    ];
  }
}

/** Whether a basis is of the length that the song has in this blend: a blend may let a tail end sooner or later. */
const isOf = (known: LedgerBasis | null, { plan }: Blend): known is LedgerBasis =>
  known?.query.frames === plan.soundFrames;
