import { placedSound, type Sound } from '../../audio/audio.ts';
import type { Plan } from '../../render/plan/plan.ts';
import { foundOnly, type Executor } from '../../render/executor.ts';
import { PRINT, printKey, printPlan } from '../../render/plan/print-plan.ts';
import type { Sources } from '../../render/plan/sources.ts';
import type { SoundRoom } from '../../render/store/room.ts';
import type { StripCache } from '../../render/strip-cache.ts';
import { fadedOut } from '../../render/tail-fade.ts';
import { restorePass } from '../../session/passes/passes.ts';
import { ROUGH_THROUGH, roughThrough } from '../../session/passes/rough-through.ts';
import type { Session } from '../../session/schema.ts';

/** Data that passes are rendered from. */
export interface Studio {
  readonly cache: StripCache;
  readonly render: Executor;
  /** Room for prints. */
  readonly room: SoundRoom;
  planOf(session: Session): { readonly plan: Plan; readonly sources: Sources };
  /** Missing files of the session's mix. */
  missingFiles(session: Session): readonly string[];
}

interface Print {
  readonly key: string;
  readonly sound: Sound;
}

/** Number of prints kept beside those that are compared: the last used ones. */
const SPARE_PRINTS = 2;

/** Number of prints kept from before edits: after an undo, or switching a bypass back, nothing is rendered again. */
const EARLIER_PRINTS = 4;

/** Name of their queue of renders: strips that the current mix renders at the same time are run once. */
const PASSES = 'passes';

/** Names of what can be printed beside the mix, by id: the passes, and the rough through the mix bus. */
const printable = (session: Session): ReadonlyMap<string, string> =>
  new Map([
    ...session.passes.map(({ id, name }) => [id, `The pass "${name}"`] as const),
    ...(session.rough ? [[ROUGH_THROUGH, 'The rough through the mix bus'] as const] : []),
  ]);

/** The session that is printed under this id. */
const sessionOf = (session: Session, id: string): Session =>
  session.passes.some((pass) => pass.id === id) ? restorePass(session, id) : roughThrough(session)!;

/** Data that the sound of passes and of the rough through the mix bus depends on. */
const PARTS_OF_PASSES = [
  ...(['passes', 'sampleRate', 'tempo', 'meter', 'tempoChanges', 'meterChanges'] as const),
  ...(['panLaw', 'rough', 'mixBus', 'lines'] as const),
];

const NO_TRACKS = 'has no tracks';

/** Passes as one stereo print each, rendered one at a time in the background when first requested. */
export class PassPrints {
  private readonly prints = new Map<string, Print>();
  /** Prints by their key, the newest last. */
  private readonly earlier = new Map<string, Sound>();
  private readonly shares = new Map<string, number>();
  private readonly faultsById = new Map<string, string>();
  private session: Session | null = null;
  /** The requested passes, and those of them that the session has. */
  private asked: readonly string[] = [];
  private wanted: readonly string[] = [];
  private work: { readonly id: string; readonly stop: AbortController } | null = null;

  constructor(
    private readonly studio: Studio,
    private readonly onChange: () => void,
  ) {}

  get sounds(): ReadonlyMap<string, Sound> {
    return new Map([...this.prints].map(([id, { sound }]) => [id, sound]));
  }

  get preparing(): ReadonlyMap<string, number> {
    return this.shares;
  }

  get faults(): ReadonlyMap<string, string> {
    return this.faultsById;
  }

  /** Another song: forgets the last one. */
  clear(): void {
    this.work?.stop.abort();
    this.session = null;
    this.wanted = [];
    for (const part of [this.prints, this.earlier, this.shares, this.faultsById]) part.clear();
  }

  /** The passes to print. */
  want(ids: readonly string[]): void {
    this.asked = ids;
    if (this.session) this.lookAt(this.session);
  }

  /** The session after an edit, or with more files open: its passes or their sound may have changed. */
  follow(session: Session): void {
    const before = this.session;
    this.session = session;
    if (before === null || before === session || PARTS_OF_PASSES.some((part) => before[part] !== session[part]))
      this.lookAt(session);
  }

  private lookAt(session: Session): void {
    const passes = printable(session);
    this.wanted = this.asked.filter((id) => passes.has(id));
    const { work } = this;
    if (work && !this.wanted.includes(work.id)) work.stop.abort();
    for (const id of this.shares.keys()) if (!this.wanted.includes(id)) this.shares.delete(id);
    this.faultsById.clear();
    this.dropOld(passes);
    this.goOn();
  }

  /** Drops prints of removed passes, and the least recently used. */
  private dropOld(passes: ReadonlyMap<string, string>): void {
    for (const id of this.prints.keys()) if (!passes.has(id)) this.prints.delete(id);
    for (const id of this.wanted) {
      const print = this.prints.get(id);
      if (!print) continue;
      this.prints.delete(id);
      this.prints.set(id, print);
    }
    const spare = [...this.prints.keys()].filter((id) => !this.wanted.includes(id));
    for (const id of spare.slice(0, Math.max(0, spare.length - SPARE_PRINTS))) this.prints.delete(id);
  }

  /** Begins with the next pass that has no current print. */
  private goOn(): void {
    const { session } = this;
    if (!session) return;
    const jobs = this.wanted.flatMap((id) => this.jobOf(session, id) ?? []);
    for (const id of this.wanted) {
      if (!jobs.some((job) => job.id === id)) this.shares.delete(id);
      else if (!this.shares.has(id)) this.shares.set(id, 0);
    }
    const [job] = jobs;
    if (!this.work && job) void this.render(job);
    this.onChange();
  }

  private jobOf(session: Session, id: string): { id: string; printed: Plan; sources: Sources } | null {
    if (this.faultsById.has(id)) return null;
    const pass = sessionOf(session, id);
    const [missing] = this.studio.missingFiles(pass);
    const { plan, sources } = missing === undefined ? this.studio.planOf(pass) : { plan: null, sources: new Map() };
    if (!plan || sources.size === 0) {
      const name = printable(session).get(id)!;
      const why = missing === undefined ? NO_TRACKS : `needs ${missing}, which is missing: add that file`;
      this.faultsById.set(id, `${name} cannot be heard: it ${why}.`);
      return null;
    }
    const printed = printPlan(plan);
    const key = printKey(printed);
    const known = this.earlier.get(key);
    if (known) this.keep(id, key, known);
    return this.prints.get(id)?.key === key ? null : { id, printed, sources };
  }

  private keep(id: string, key: string, sound: Sound): void {
    this.prints.set(id, { key, sound });
    this.earlier.delete(key);
    this.earlier.set(key, sound);
    if (this.earlier.size > EARLIER_PRINTS) this.earlier.delete(this.earlier.keys().next().value!);
  }

  private async render({ id, printed, sources }: { id: string; printed: Plan; sources: Sources }): Promise<void> {
    const stop = new AbortController();
    this.work = { id, stop };
    try {
      const onProgress = (share: number): void => {
        if (stop.signal.aborted || !this.shares.has(id)) return;
        this.shares.set(id, share);
        this.onChange();
      };
      const { render, room } = this.studio;
      const cache = foundOnly(this.studio.cache);
      const paths = await render(printed, sources, { cache, room, follows: PASSES, signal: stop.signal, onProgress });
      const whole = placedSound(paths.get(PRINT)!, 0, printed.soundFrames);
      this.keep(id, printKey(printed), printed.tailCut ? fadedOut(whole) : whole);
    } catch (error) {
      const reason = error instanceof Error ? error.message : String(error);
      if (!stop.signal.aborted)
        this.faultsById.set(
          id,
          `${printable(this.session!).get(id) ?? 'It'} cannot be heard: rendering stopped, ${reason}.`,
        );
    }
    this.work = null;
    this.goOn();
  }
}
