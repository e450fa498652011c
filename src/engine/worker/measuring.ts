import { checkGuards } from '../../blend/guards/guards.ts';
import { ledgerRows, mixFiguresOf, type LedgerBasis, type LedgerRow } from '../../blend/ledger/ledger.ts';
import type { Sound } from '../../audio/audio.ts';
import type { PathOrigin } from '../../dsp/core/arrival.ts';
import type { Figures } from '../../measure/figures.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { gainsOf } from '../../render/mix.ts';
import { isSameMixBus, type Plan } from '../../render/plan/plan.ts';
import { pathNames } from '../../session/graph.ts';
import type { Session } from '../../session/schema.ts';
import type { Overview, Range, SideFindings } from '../engine.ts';
import type { Frames } from '../excerpt.ts';
import { answerOf } from '../job.ts';
import { inSlices, turn } from '../slices.ts';
import type { Song } from '../song.ts';
import { Workshop, type KnownWhole } from '../workshop.ts';
import { LevelAnswers, type LevelsAsked } from './level-answers.ts';
import { measuredPrint, type PrintWork } from './measured-print.ts';
import { MeasuredSides } from './measured-sides.ts';
import type { MeasuringListener, Side } from './measuring-listener.ts';
import { PathProducts } from './path-products.ts';
import { mixOfPaths, mixOfPrint, SectionFigures, type SectionMix } from './section-figures.ts';

/** A blend to be measured. */
interface Blend extends Omit<PrintWork, 'paths'> {
  readonly session: Session;
  /** Which of the two references exist. */
  readonly against: readonly Side[];
}

/** Results of a blend that have been reported. */
interface Reported {
  readonly blend: Blend;
  readonly overview: Overview | null;
  /** Before the mix bus. */
  readonly sum: Figures | null;
  readonly rows: readonly LedgerRow[];
  /** All results have been reported. */
  readonly isWhole: boolean;
}

const namesIn = ({ groups, buses }: Session): string[] => [...groups, ...buses].map(({ name }) => name);

/** Whether two blends of the same paths sound the same and paths have the same names, as after an edit of notes or markers. */
const isSameMix = (a: Blend, b: Blend): boolean =>
  namesIn(a.session).join('\n') === namesIn(b.session).join('\n') &&
  a.plan.soundFrames === b.plan.soundFrames &&
  a.seconds === b.seconds &&
  isSameMixBus(a.plan.mixBus, b.plan.mixBus) &&
  a.gains.size === b.gains.size &&
  [...a.gains].every(([id, gain]) => b.gains.get(id) === gain);

/** Parts of the measuring of a blend that are done once its print is measured, and once the groups as received are. */
const PRINT_MEASURED = 0.3;
const RECEIVED_MEASURED = 0.5;

/** Collects rows that are computed one by one, so that the screen is drawn once, not for every row. */
function* gathered<T>(steps: Generator<T>): Generator<void, T[]> {
  const all: T[] = [];
  for (const one of steps) {
    all.push(one);
    yield;
  }
  return all;
}

/**
 * Measures in slices: sides when they arrive, and the newest blend only. Figures from its products are updated while a control moves; the
 * print is measured when it rests.
 */
export class Measuring {
  private readonly sides: MeasuredSides;
  private readonly products = new PathProducts();
  private readonly levels: LevelAnswers;
  private readonly section: SectionFigures;
  /** The print of the newest blend, once measured. */
  private printed: SideFindings | null = null;
  private newest: Blend | null = null;
  private followed: Blend | null = null;
  /** Reported results of the last measured blend: valid for another one that sounds the same. */
  private reported: Reported | null = null;
  /** There is no blend, and this is still to be reported. */
  private isNothingToTell = false;
  private isBusy = false;

  constructor(
    private readonly song: Song,
    private readonly listener: MeasuringListener,
    /** True while a question is waiting: its answer comes before unrequested measurements. */
    isAsked: () => boolean,
  ) {
    this.sides = new MeasuredSides(listener);
    this.levels = new LevelAnswers((found) => listener.level(found), isAsked);
    this.section = new SectionFigures((found) => listener.section(found));
  }

  /** The section in loop; null: none. */
  loop(range: Range | null): void {
    this.section.over(range);
    this.goOn();
  }

  /** Frames of the section in loop; null: there is none. */
  loopFrames(sampleRate: number): Frames | null {
    return this.section.frames(sampleRate);
  }

  /** Paths of a newer mix, rendered over the section in loop: measured at once, in parallel to the running work. Resolves when that is done. */
  early(paths: RenderedPaths, plan: Plan): Promise<void> {
    const mix = mixOfPaths(paths, gainsOf(plan), plan.mixBus, plan.sampleRate);
    return this.section.ahead(mix).catch((error: unknown) => this.listener.failed(error));
  }

  /** A side to measure before the blend, which is compared with it. `seconds` is the length that its overview covers. */
  measure(side: Side, audio: Sound, seconds: number): void {
    this.sides.take(side, audio, seconds);
    this.section.side(side, audio);
    this.goOn();
  }

  /** New rendered paths. Measurements of unchanged sounds are reused. */
  paths(paths: RenderedPaths, origins: ReadonlyMap<string, PathOrigin>): void {
    this.products.paths(paths, origins);
    this.newest = null;
    this.reported = null;
    this.levels.of(null);
  }

  groups(groups: RenderedPaths): void {
    this.products.groups(groups);
  }

  /** The print of the newest blend; null: it is not ready. */
  get print(): Sound | null {
    return this.levels.print;
  }

  /** The blend as it is now; `seconds` is the length that overviews cover. */
  blend(session: Session, plan: Plan, seconds: number, against: readonly Side[]): void {
    this.newest = { session, plan, seconds, against, gains: gainsOf(plan) };
    this.isNothingToTell = false;
    this.section.caughtUp();
    this.goOn();
  }

  /** Another song: nothing of the last one is measured or reported any more. */
  forget(): void {
    this.sides.forget();
    this.section.forget();
    this.products.forget();
    this.paths(new Map(), new Map());
  }

  /** A side was removed. */
  without(side: Side): void {
    this.sides.without(side);
    this.section.side(side, null);
  }

  /** The mix has become silent. */
  nothing(): void {
    this.paths(new Map(), new Map());
    this.section.of(null);
    this.isNothingToTell = true;
    this.goOn();
  }

  /** Requests levels of the newest blend; an earlier request is no longer answered. */
  askLevels(asked: LevelsAsked): void {
    this.levels.ask(asked);
    this.goOn();
  }

  /** Measurements of the newest blend once its paths are measured; null until then. */
  get known(): KnownWhole | null {
    const { newest, printed } = this;
    const { basis, receivedShares } = this.products;
    if (!newest || !isOf(basis, newest)) return null;
    const references = this.sides.references(newest.against, receivedShares);
    // The print is that of the last measured blend.
    const isPrinted = printed && this.followed === newest;
    return {
      ...{ query: basis.query, references },
      ...(isPrinted ? { printed: { figures: printed, details: printed.details } } : {}),
    };
  }

  dispose(): void {
    this.products.dispose();
  }

  private goOn(): void {
    if (this.isBusy) return;
    this.isBusy = true;
    void this.followAll();
  }

  private async followAll(): Promise<void> {
    // Changes that arrive together are handled together.
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
      const { newest } = this;
      if (this.sides.isOpen) {
        // A blend that was measured before is compared with it anew.
        if (await this.sides.measureNext()) this.followed = this.reported = null;
      } else if (this.isNothingToTell) {
        this.isNothingToTell = false;
        this.listener.settled();
      } else if (newest && newest !== this.followed) {
        this.followed = newest;
        await this.follow(newest);
      } else if (newest && this.section.isOpen) await this.section.answer(() => this.isOver(newest));
      else if (newest && this.levels.isOpen)
        await this.levels.answer(() => this.isOver(newest) || this.section.isOpen, true);
      else {
        this.isBusy = false;
        return;
      }
    }
  }

  /** Whether something else comes before this blend. */
  private isOver(blend: Blend): boolean {
    return this.newest !== blend || this.sides.isOpen;
  }

  /** Measures one blend step by step; stops as soon as there is a newer one. */
  private async follow(blend: Blend): Promise<void> {
    const { products, listener } = this;
    const isOver = (): boolean => this.isOver(blend);
    const stale = async (): Promise<boolean> => {
      await turn();
      await this.levels.answer(isOver, false);
      return isOver();
    };
    /** Reports the part done while a part of the work runs. */
    const between = (from: number, to: number) => (part: number) => listener.measuring(from + (to - from) * part);
    if (await this.tellAgain(blend)) return;
    this.levels.of(null);
    this.printed = null;
    this.reported = { blend, overview: null, sum: null, rows: [], isWhole: false };
    // Known products give figures while a control moves; of a new song the print is shown first.
    if (products.basis) await this.tellLedger(blend, products.basis);
    if (await stale()) return;
    const { gains, plan } = blend;
    await this.tellSection(blend, mixOfPaths(products.sounds, gains, plan.mixBus, plan.sampleRate));
    if (await stale()) return;
    await this.tellPrint(blend, between(0, PRINT_MEASURED));
    if (await stale()) return;
    const hasNews = products.isReceiving || !isOf(products.basis, blend);
    await products.receive(isOver, between(PRINT_MEASURED, RECEIVED_MEASURED));
    if (products.isReceiving || (await stale())) return;
    if (!isOf(products.basis, blend))
      await products.make(blend.plan.soundFrames, isOver, between(RECEIVED_MEASURED, 1));
    if (!isOf(products.basis, blend) || (await stale())) return;
    if (hasNews) await this.tellLedger(blend, products.basis);
    if (!this.printed || (await stale())) return;
    await this.tellGuards(blend, this.printed);
    if (await stale()) return;
    this.keep(blend, { isWhole: true });
    listener.settled();
  }

  /** Where the mix equals the last blend, only data of the session beside its sound is new. True: all results were reported. */
  private async tellAgain(blend: Blend): Promise<boolean> {
    const { reported, printed, products, listener } = this;
    if (!reported?.isWhole || !printed || products.isReceiving || !isSameMix(reported.blend, blend)) return false;
    listener.mix(printed, reported.overview!);
    listener.sum(reported.sum!);
    listener.rows(reported.rows, false);
    this.section.again();
    await this.tellGuards(blend, printed);
    if (this.isOver(blend)) return true;
    listener.settled();
    return true;
  }

  /** The changes that paths make to this blend, from their products. */
  private async tellLedger(blend: Blend, known: LedgerBasis): Promise<void> {
    const gains = this.products.ordered(blend.gains);
    const nameOfPath = pathNames(blend.session);
    // Rows without peaks are reported at once, as peaks take longer; a song of another length is measured first.
    for (const quick of isOf(known, blend) ? [true, false] : [true]) {
      const figures = mixFiguresOf(known, gains, !quick);
      if (!quick) this.listener.sum(figures);
      const making = gathered(ledgerRows(known, gains, figures, !quick, nameOfPath));
      const rows = await inSlices(making, () => this.isOver(blend));
      if (!rows) return;
      this.listener.rows(rows, quick);
      if (!quick) this.keep(blend, { sum: figures, rows });
    }
  }

  /** Prints this blend and measures the print, which is kept until another one is. */
  private async tellPrint(blend: Blend, onPart: (part: number) => void): Promise<void> {
    const work = { ...blend, paths: this.products.sounds };
    const print = await measuredPrint(work, this.song.room, () => this.isOver(blend), onPart);
    if (!print) return;
    this.levels.of(print.levels);
    this.printed = print.findings;
    this.keep(blend, { overview: print.overview });
    this.listener.mix(print.findings, print.overview);
    if (this.print) await this.tellSection(blend, mixOfPrint(this.print));
  }

  private keep(blend: Blend, part: Partial<Reported>): void {
    if (this.reported?.blend === blend) this.reported = { ...this.reported, ...part };
  }

  private async tellSection(blend: Blend, mix: SectionMix): Promise<void> {
    if (this.isOver(blend)) return;
    this.section.of(mix);
    await this.section.answer(() => this.isOver(blend));
  }

  /** Judges the guards on the print; the balance is that before the mix bus. */
  private async tellGuards({ session, plan }: Blend, printed: SideFindings): Promise<void> {
    const mix = { session, plan, paths: this.products.sounds };
    const workshop = new Workshop(this.song, mix, this.known!);
    const space = await answerOf(workshop.space(null));
    const guarded = workshop.guarded(space, { figures: printed, details: printed.details });
    this.listener.guards(checkGuards(space.guards, guarded, space.references));
  }
}

/** Whether a basis has the song's length in this blend: a tail may end sooner or later with another blend. */
const isOf = (known: LedgerBasis | null, { plan }: Blend): known is LedgerBasis =>
  known?.query.frames === plan.soundFrames;
