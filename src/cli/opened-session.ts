import type { Audio } from '../audio/audio.ts';
import { finished } from '../audio/steps.ts';
import type { SweepAxis } from '../blend/sweep/sweep.ts';
import { USUAL_REACH_DB, type BlendLimits } from '../blend/solve/solution.ts';
import { check, type Checked } from '../engine/jobs/check.ts';
import { ledger } from '../engine/jobs/ledger.ts';
import { print, printPass } from '../engine/jobs/print.ts';
import { ride, type Ridden } from '../engine/jobs/ride.ts';
import { solve, targetsAsked } from '../engine/jobs/solve.ts';
import { sweep, type SweepAnswer } from '../engine/jobs/sweep.ts';
import type { Solved, StretchLedger } from '../engine/questions.ts';
import type { Mix } from '../engine/song.ts';
import type { Workshop } from '../engine/workshop.ts';
import type { OrderFields } from '../files/print/check-order.ts';
import { writeFilesWhole } from '../files/node/node-files.ts';
import { inMemory } from '../files/bytes/file-keeper.ts';
import type { PrintOrder } from '../files/print/print-order.ts';
import { filesOfPrint, type PrintedSong } from '../files/print/print-song.ts';
import { pathsInMemory } from '../render/executor.ts';
import { mainPrintSteps } from '../render/print.ts';
import type { Session } from '../session/schema.ts';
import { requirePath } from './commands/ledger.ts';
import { USUAL_RATE } from './commands/ride.ts';
import { checkLimits, requireMovable } from './commands/solve.ts';
import { requireBus, shortEnough } from './commands/sweep.ts';
import { requirePrintable, requireRoom } from './commands/print.ts';
import { printOrderFrom } from './print-fields.ts';
import { sectionNamed, workplaceOf, type Workplace } from './workplace.ts';

export interface OpenOptions {
  /** Name of a set of guards, instead of the default one. */
  readonly guards?: string;
  /** Also reads files outside of the session's folder and the current one. */
  readonly allowOutside?: boolean;
  /** Called with the running work and the part done, 0..1, where that is known. */
  readonly onProgress?: (what: string, part?: number) => void;
  /** Called with warnings: sentences that a user must read. */
  readonly onWarning?: (sentence: string) => void;
}

/** The part of the song to work on. */
export interface Within {
  /** Name of a section of the session; the whole song where none is named. */
  readonly section?: string;
}

export interface RideOptions extends Within {
  /** Fastest move of the fader, dB a second; default 2. */
  readonly rateDb?: number;
}

export interface SolveOptions extends Within {
  /** How far a blend may move from its value in the session, dB, where it has no limits of its own; default 6. */
  readonly withinDb?: number;
  /** Lowest and highest blend by the id of its bus, dB. */
  readonly limits?: Readonly<Record<string, BlendLimits>>;
}

/** What is printed; by default the mix in 24 bits, at the session's rate, without gain. */
export interface PrintOptions extends Partial<PrintOrder> {
  /** Replaces existing prints. */
  readonly force?: boolean;
}

/** Names of the fields of an order in scripts. */
const FIELD_NAMES: OrderFields = {
  ...{ without: 'without', pairs: 'pairs', kinds: 'kinds', form: 'bits', shaped: 'shaped', names: 'names' },
  ...{ targets: 'targets', pass: 'pass' },
};

/** An opened session with its sounds, for scripts. Each path is rendered once and kept. */
export class OpenedSession {
  private workshop: Promise<Workshop> | null = null;

  constructor(
    private readonly place: Workplace,
    private readonly path: string,
    readonly session: Session,
  ) {}

  /** The same sounds in another mix: the session after edits. It may name no sound that the one that was opened does not. */
  with(session: Session): OpenedSession {
    return new OpenedSession(this.place, this.path, session);
  }

  private inHand(): Promise<Workshop> {
    return (this.workshop ??= this.place.workshop(true, this.session));
  }

  private within({ section }: Within) {
    return sectionNamed(this.session, this.path, section);
  }

  /** Its paths: the sound of each group and bus before its fader or blend, by id. */
  async rendered(): Promise<Mix & { readonly paths: ReadonlyMap<string, Audio> }> {
    const { mix } = await this.inHand();
    return { ...mix, paths: pathsInMemory(mix.paths) };
  }

  /** The mix as it is printed, after the mix bus. */
  async mix(): Promise<Audio> {
    const { plan, paths } = await this.rendered();
    return finished(mainPrintSteps(plan, paths));
  }

  /** The ledger: the change that each path makes to the mix before the mix bus. */
  async ledger(within: Within = {}): Promise<StretchLedger> {
    return this.place.answer('Measuring', ledger(await this.inHand(), { section: this.within(within) }));
  }

  /** Figures along the blends of a bus. @throws ProblemError for a bus that is not there, or too many blends */
  async sweep(axis: SweepAxis, within: Within = {}): Promise<SweepAnswer> {
    requireBus(this.session, axis.bus, 'bus');
    shortEnough(axis, undefined);
    return this.place.answer('Sweeping', sweep(await this.inHand(), { axis, section: this.within(within) }));
  }

  /**
   * Blends that meet targets within the guards. Targets are written as on the command line: "crestDb=max".
   * @throws ProblemError for an invalid target or limit, or where no bus may be moved
   */
  async solve(targets: readonly string[], options: SolveOptions = {}): Promise<Solved> {
    const { withinDb = USUAL_REACH_DB, limits = {} } = options;
    const reach = { withinDb, limits: new Map(Object.entries(limits)) };
    const asked = targetsAsked(targets);
    checkLimits(this.session, reach.limits, 'limits');
    requireMovable(this.session, this.path);
    const task = { targets: asked, reach, section: this.within(options) };
    return this.place.answer('Searching blends', solve(await this.inHand(), task));
  }

  /**
   * A line of a path's fader that keeps its short-term loudness within a range, LUFS, and the session with that line.
   * @throws ProblemError for a path that is not there
   */
  async ride(
    path: string,
    range: { readonly low: number; readonly high: number },
    options: RideOptions = {},
  ): Promise<Ridden> {
    requirePath(this.session, path, 'path');
    const { rateDb = USUAL_RATE } = options;
    const task = { ...range, path, rate: rateDb, section: this.within(options) };
    return this.place.answer('Riding', ride(await this.inHand(), task));
  }

  /** Results of the guards on the print. */
  async check(within: Within = {}): Promise<Checked> {
    return this.place.answer('Measuring', check(await this.inHand(), { section: this.within(within) }));
  }

  /**
   * Prints WAV files, a report, a recall sheet and a manifest into `out`: all is written, or nothing.
   * @throws ProblemError as the command line does
   */
  async print(out: string, { force = false, ...asked }: PrintOptions = {}): Promise<PrintedSong<Uint8Array>> {
    const order = printOrderFrom(asked);
    const date = new Date();
    const destination = { out, force, forcing: '{ force: true }' };
    await requirePrintable(this.session, this.path, order, date, destination, FIELD_NAMES);
    const task = { order, keeper: inMemory, targetName: 'targetLufs', date };
    const workshop = await this.inHand();
    const job = order.pass ? printPass(workshop, order.pass, task) : print(workshop, task);
    const printed = await this.place.answer('Printing', job);
    const files = filesOfPrint(printed);
    await requireRoom(
      this.session,
      this.path,
      files.map(({ name }) => name),
      destination,
    );
    await writeFilesWhole(out, files);
    return printed;
  }
}

/**
 * Opens a session file with every sound that it names.
 * @throws ProblemError with one sentence that names the file and the field
 */
export const openSession = async (path: string, options: OpenOptions = {}): Promise<OpenedSession> => {
  const { guards, allowOutside = false, onProgress = () => {}, onWarning = () => {} } = options;
  const asked = {
    ...(guards === undefined ? {} : { guards }),
    ...(allowOutside ? { allowOutside: true as const } : {}),
  };
  const place = await workplaceOf(path, asked, { progress: onProgress, note: onWarning });
  return new OpenedSession(place, path, place.session);
};
