import { feedsOthers } from '../../blend/sweep/feeds.ts';
import {
  axisBlends,
  sweepPoints,
  type Sweep,
  type SweepAxis,
  type SweepPoint,
  type SweepRow,
} from '../../blend/sweep/sweep.ts';
import type { Section, Session } from '../../session/schema.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import { EachFrame } from '../shared/each-frame.ts';

/** Range that a sweep covers, dB. */
const FROM = -36;
const TO = 6;

/** Steps that can be chosen, dB. */
export const STEPS = [1, 2, 3, 6] as const;
/** Steps unless told otherwise, dB: along one bus, and where each takes its time. */
const FINE_STEP = 2;
const COARSE_STEP = 6;
/** A grid of steps below this has more cells than can be told apart, dB. */
export const LEAST_GRID_STEP = 2;

/** What is to be swept, beside the bus itself. */
export interface SweepChoice {
  /** Another bus that makes a grid; null: the one alone. */
  readonly second: string | null;
  /** null: the whole song. */
  readonly section: Section | null;
  readonly stepDb: number;
}

/** A sweep that was answered, or as much of it as has been measured. */
interface Answer extends SweepChoice {
  readonly sweep: Sweep;
  /** All of its places, those too that are still to come. */
  readonly points: readonly SweepPoint[];
  /** How many blends were rendered; 0: none. */
  readonly renders: number;
  /** The session that it is of. */
  readonly of: Session;
}

/** A sweep of one bus, or of two: asked for, under way, or there. */
export class SweepJob {
  #answer = $state.raw<Answer | null>(null);
  /** What is there of the sweep under way; null: nothing yet, or none is under way. */
  #coming = $state.raw<Answer | null>(null);
  /** `stepDb` null: as it suits. */
  #choice = $state.raw<Omit<SweepChoice, 'stepDb'> & { readonly stepDb: number | null }>({
    second: null,
    section: null,
    stepDb: null,
  });
  #progress = $state.raw<number | null>(null);
  #work = new AbortController();

  constructor(
    private readonly bench: Bench,
    readonly bus: string,
  ) {}

  /** What there is to show: the rows of the sweep under way as they come, else the last answer. */
  get answer(): Answer | null {
    return this.#coming ?? this.#answer;
  }
  /** True while more rows are to come. */
  get isComing(): boolean {
    return this.#coming !== null;
  }
  /** 0..1 while it is under way. */
  get progress(): number | null {
    return this.#progress;
  }
  /** What is asked for next: what the session no longer has is not chosen. */
  get choice(): SweepChoice {
    const { buses = [], sections = [] } = this.bench.session ?? {};
    const { second, section, stepDb } = this.#choice;
    const isGrid = second !== this.bus && buses.some(({ id }) => id === second);
    const isLong = isGrid || (this.bench.session !== null && feedsOthers(this.bench.session, this.bus));
    return {
      second: isGrid ? second : null,
      section: sections.find((each) => JSON.stringify(each) === JSON.stringify(section)) ?? null,
      stepDb: stepDb ?? (isLong ? COARSE_STEP : FINE_STEP),
    };
  }

  choose(fields: Partial<SweepChoice>): void {
    // A grid has as many steps to the side as upward: its step is chosen anew.
    this.#choice = { ...this.#choice, ...(fields.second === undefined ? {} : { stepDb: null }), ...fields };
  }

  /** How many blends must be rendered, as other paths hang on them. */
  get renders(): number {
    const { session } = this.bench;
    const feeding = this.#axes().filter(({ bus }) => session && feedsOthers(session, bus));
    return feeding.length === 0 ? 0 : feeding.reduce((count, axis) => count * axisBlends(axis).length, 1);
  }

  /** True when something but the swept blends has changed since. */
  get isOld(): boolean {
    const { answer } = this;
    const now = this.bench.session;
    if (!answer || !now || now === answer.of) return false;
    const others = (session: Session): Session => ({
      ...session,
      buses: session.buses.map((bus) =>
        bus.id === this.bus || bus.id === answer.second ? { ...bus, blendDb: 0 } : bus,
      ),
      // A blend that a line moves is swept with its line.
      lines: session.lines.filter(
        ({ target }) => target.what !== 'level' || ![this.bus, answer.second].includes(target.of),
      ),
      passes: [],
      trials: [],
      clientNotes: [],
    });
    return JSON.stringify(others(now)) !== JSON.stringify(others(answer.of));
  }

  #axes(): readonly [SweepAxis, ...SweepAxis[]] {
    const { second, stepDb } = this.choice;
    const axis = { bus: this.bus, from: FROM, to: TO, step: stepDb };
    return second === null ? [axis] : [axis, { ...axis, bus: second }];
  }

  async run(): Promise<void> {
    this.cancel();
    const work = new AbortController();
    this.#work = work;
    const [axis, second] = this.#axes();
    const points = sweepPoints(axis, second);
    const asked = { ...this.choice, renders: this.renders, of: this.bench.session!, points };
    const rows: SweepRow[] = [];
    const show = new EachFrame(
      () => (this.#coming = { ...asked, sweep: { rows: inOrder(rows, points), marks: null } }),
    );
    this.#progress = 0;
    await this.bench.attempt('sound', async () => {
      const onProgress = (part: number): void => {
        if (this.#work === work) this.#progress = part;
      };
      const onRow = (row: SweepRow): void => {
        rows.push(row);
        if (this.#work === work) show.ask();
      };
      const sweep = await this.bench.engine.ask(
        { kind: 'sweep', axis, ...(second ? { second } : {}), section: asked.section },
        { signal: work.signal, onProgress, onRow },
      );
      this.#answer = { ...asked, sweep };
      this.bench.announce('The sweep is done.');
    });
    show.drop();
    if (this.#work === work) this.#progress = this.#coming = null;
  }

  cancel(): void {
    this.#work.abort(new DOMException('not wanted any more', 'AbortError'));
    this.#progress = this.#coming = null;
  }
}

/** Rows in the order of their places. */
const inOrder = (rows: readonly SweepRow[], points: readonly SweepPoint[]): readonly SweepRow[] => {
  const placeOf = ({ blendDb, secondBlendDb }: SweepPoint): string => `${blendDb} ${secondBlendDb}`;
  const byPlace = new Map(rows.map((row) => [placeOf(row), row]));
  return points.flatMap((point) => byPlace.get(placeOf(point)) ?? []);
};
