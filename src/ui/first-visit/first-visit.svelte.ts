import type { Bench } from '../bench/bench.svelte.ts';

const KEY = 'tributary-first-visit';

/** What is tried in turn on a first visit. */
export type FirstStep = 'hear the rough' | 'bring up a bus' | 'compare';

const STEPS: readonly FirstStep[] = ['hear the rough', 'bring up a bus', 'compare'];

const blendsOf = ({ session }: Bench): string => JSON.stringify(session?.buses.map(({ blendDb }) => blendDb) ?? []);

/** Three steps on the demo song, the first time that it is opened on this device; each ends by being done. */
export class FirstVisit {
  #place = $state.raw<number | null>(null);
  /** What was heard, and the blends, when the step in hand began. */
  #heard = '';
  #blends = '';

  constructor(private readonly bench: Bench) {}

  /** null: there is nothing to show. */
  get step(): FirstStep | 'done' | null {
    if (this.#place === null || this.bench.session === null) return null;
    return STEPS[this.#place] ?? 'done';
  }
  get number(): number {
    return (this.#place ?? 0) + 1;
  }

  /** The demo is being opened. */
  begin(): void {
    if (localStorage.getItem(KEY) === null) this.#place = 0;
  }

  /** Never to come again on this device. */
  end(): void {
    localStorage.setItem(KEY, 'seen');
    this.#place = null;
  }

  /** Looks whether the step in hand has been done; called whenever something of it has changed. */
  look(): void {
    const { bench, step } = this;
    const { heard } = bench.listening;
    if (step === 'hear the rough') {
      if (heard === 'rough' && bench.view.playing) this.#goOn();
    } else if (step === 'bring up a bus') {
      if (blendsOf(bench) !== this.#blends) this.#goOn();
    } else if (step === 'compare' && heard !== this.#heard && bench.listening.matching) this.#goOn();
  }

  #goOn(): void {
    this.#place = this.number;
    this.#heard = this.bench.listening.heard;
    this.#blends = blendsOf(this.bench);
  }
}
