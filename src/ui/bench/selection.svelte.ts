import { chainOf, MIX } from '../../session/chain/chain-edits.ts';
import { ROUGH } from '../../session/graph.ts';
import { itemOf } from '../../session/chain/chain-items.ts';
import { isThere } from '../../session/lines/controls.ts';
import type { LineTarget } from '../../session/lines/line-schema.ts';
import type { Session } from '../../session/schema.ts';

interface Selected {
  /** Group, bus, track, MIX or ROUGH. */
  readonly path: string;
  /** An item of its chain; null: the path as a whole. */
  readonly item: string | null;
}

/** What the bench shows of a bus as a whole. */
export type BusSheet = 'does' | 'sweep';

/** The table of paths and the bench below it, the ledger of a stretch, what the received files are like, or what the client asks for. */
export type Page = 'paths' | 'ledger' | 'received' | 'notes' | 'sends';

/** Which path is on the bench, and which processor of its chain. What the session no longer has is not selected. */
export class Selection {
  readonly #session: () => Session | null;
  #selected = $state.raw<Selected | null>(null);
  /** Groups and buses that are selected beside the one on the bench. */
  #others = $state.raw<readonly string[]>([]);
  #sheet = $state.raw<BusSheet>('does');
  #isBringingUp = $state.raw(false);
  #page = $state.raw<Page>('paths');
  #line = $state.raw<LineTarget | null>(null);
  // Every row asks: whoever does is told when it changes, and not of every edit.
  readonly #path = $derived.by(() => {
    const session = this.#session();
    const path = this.#selected?.path;
    if (!session || path === undefined) return null;
    const { rough, tracks, groups, buses } = session;
    const isThere =
      path === MIX ||
      (path === ROUGH && rough !== null) ||
      [tracks, groups, buses].some((all) => all.some(({ id }) => id === path));
    return isThere ? path : null;
  });
  readonly #item = $derived.by(() => {
    const path = this.#path;
    const item = this.#selected?.item ?? null;
    if (path === null || item === null) return null;
    return itemOf(chainOf(this.#session()!, path), item) ? item : null;
  });

  constructor(session: () => Session | null) {
    this.#session = session;
  }

  get path(): string | null {
    return this.#path;
  }

  get item(): string | null {
    return this.#item;
  }

  /** All that are selected: the one on the bench, and groups and buses beside it. */
  get paths(): string[] {
    const { path } = this;
    const session = this.#session();
    if (path === null || !session) return [];
    const isThere = (id: string): boolean => [...session.groups, ...session.buses].some((each) => each.id === id);
    return [path, ...this.#others.filter((id) => id !== path && isThere(id))];
  }

  /**
   * What the song strip shows over time of the path: what was chosen; else its level where that moves, or the first of its lines. null:
   * nothing of it moves.
   */
  get line(): LineTarget | null {
    const { path } = this;
    const session = this.#session();
    if (!session || path === null) return null;
    if (this.#line?.of === path && isThere(session, this.#line)) return this.#line;
    const lines = session.lines.filter(({ target }) => target.of === path);
    return (lines.find(({ target }) => target.what === 'level') ?? lines[0])?.target ?? null;
  }

  showLine(target: LineTarget): void {
    this.#line = target;
  }

  /** Stays from bus to bus. */
  get sheet(): BusSheet {
    return this.#sheet;
  }

  /** True while the buses are brought up one at a time, in place of the bench. */
  get isBringingUp(): boolean {
    return this.#isBringingUp && (this.#session()?.buses.length ?? 0) > 0;
  }

  /** What stands beside the findings. */
  get page(): Page {
    return this.#session() === null ? 'paths' : this.#page;
  }

  show(sheet: BusSheet): void {
    this.#sheet = sheet;
  }

  bringUp(on: boolean): void {
    this.#isBringingUp = on;
  }

  turnTo(page: Page): void {
    this.#page = page;
  }

  select(path: string, item: string | null = null): void {
    this.#selected = { path, item };
    this.#others = [];
  }

  /** Selects a path beside the others, or no longer. */
  toggle(path: string): void {
    const { paths } = this;
    const others = paths.includes(path) ? paths.filter((id) => id !== path) : [...paths, path];
    const [first] = others;
    if (first === undefined) this.clear();
    else this.#set(first, others);
  }

  /** Selects all of a list from the path on the bench to this one. */
  extend(path: string, list: readonly string[]): void {
    const from = this.path === null ? -1 : list.indexOf(this.path);
    const to = list.indexOf(path);
    if (from < 0 || to < 0) this.select(path);
    else this.#set(list[from]!, list.slice(Math.min(from, to), Math.max(from, to) + 1));
  }

  #set(path: string, paths: readonly string[]): void {
    if (path !== this.#selected?.path) this.#selected = { path, item: null };
    this.#others = paths.filter((id) => id !== path);
  }

  clear(): void {
    this.#selected = null;
    this.#others = [];
  }
}
