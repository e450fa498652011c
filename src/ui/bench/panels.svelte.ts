import { SNAPS, type Snap } from '../song-strip/snap.ts';

const KEY = 'tributary-panels';

/** How the screen is divided; px, null: what suits the window. */
interface Kept {
  readonly benchHeight: number | null;
  readonly findingsWidth: number | null;
  readonly findingsFolded: boolean;
  readonly stripFolded: boolean;
  /** What edges and loops on the song strip are drawn to. */
  readonly snap: Snap;
  /** A strip that shows a part goes along with the playhead. */
  readonly stripFollows: boolean;
  /** The other of mix and rough is drawn behind what is heard. */
  readonly stripBoth: boolean;
  /** Short-term loudness is drawn over it. */
  readonly stripLoudness: boolean;
}

const USUAL: Kept = {
  benchHeight: null,
  findingsWidth: null,
  findingsFolded: false,
  stripFolded: false,
  snap: 'beats',
  stripFollows: true,
  stripBoth: true,
  stripLoudness: false,
};

/** What was kept on this device; what does not read as that counts as not kept. */
const kept = (): Kept => {
  try {
    const read: unknown = JSON.parse(localStorage.getItem(KEY) ?? '{}');
    if (typeof read !== 'object' || read === null) return USUAL;
    const { benchHeight, findingsWidth, snap, ...switches } = read as Partial<Record<keyof Kept, unknown>>;
    const size = (value: unknown): number | null => (typeof value === 'number' && value > 0 ? value : null);
    const isOn = (name: 'findingsFolded' | 'stripFolded' | 'stripFollows' | 'stripBoth' | 'stripLoudness'): boolean => {
      const value = switches[name];
      return typeof value === 'boolean' ? value : USUAL[name];
    };
    return {
      benchHeight: size(benchHeight),
      findingsWidth: size(findingsWidth),
      findingsFolded: isOn('findingsFolded'),
      stripFolded: isOn('stripFolded'),
      snap: SNAPS.find((each) => each === snap) ?? USUAL.snap,
      stripFollows: isOn('stripFollows'),
      stripBoth: isOn('stripBoth'),
      stripLoudness: isOn('stripLoudness'),
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
