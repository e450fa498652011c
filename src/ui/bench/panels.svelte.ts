const KEY = 'tributary-panels';

/** How the screen is divided; px, null: what suits the window. */
interface Kept {
  readonly benchHeight: number | null;
  readonly findingsWidth: number | null;
  readonly findingsFolded: boolean;
  readonly stripFolded: boolean;
}

const USUAL: Kept = { benchHeight: null, findingsWidth: null, findingsFolded: false, stripFolded: false };

/** What was kept on this device; what does not read as that counts as not kept. */
const kept = (): Kept => {
  try {
    const read: unknown = JSON.parse(localStorage.getItem(KEY) ?? '{}');
    if (typeof read !== 'object' || read === null) return USUAL;
    const { benchHeight, findingsWidth, findingsFolded, stripFolded } = read as Partial<Record<keyof Kept, unknown>>;
    const size = (value: unknown): number | null => (typeof value === 'number' && value > 0 ? value : null);
    return {
      benchHeight: size(benchHeight),
      findingsWidth: size(findingsWidth),
      findingsFolded: findingsFolded === true,
      stripFolded: stripFolded === true,
    };
  } catch {
    return USUAL;
  }
};

/** Sizes of the panels, and which are folded: remembered on this device, for every session. */
export class Panels {
  #kept = $state.raw(kept());

  get now(): Kept {
    return this.#kept;
  }

  set(changed: Partial<Kept>): void {
    this.#kept = { ...this.#kept, ...changed };
    localStorage.setItem(KEY, JSON.stringify(this.#kept));
  }
}
