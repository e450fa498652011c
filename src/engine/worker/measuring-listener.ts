import type { GuardResult } from '../../blend/guards/guards.ts';
import type { LedgerRow } from '../../blend/ledger/ledger.ts';
import type { Figures } from '../../measure/figures.ts';
import type { Overview, SectionFindings, SideFindings } from '../engine.ts';
import type { LevelFound } from './level-answers.ts';

/** What a blend is held against. */
export type Side = 'rough' | 'received';

/** Whoever wants to know, as soon as each part is known. */
export interface MeasuringListener {
  measured(side: Side, measurement: SideFindings, overview: Overview): void;
  mix(printed: SideFindings, overview: Overview): void;
  sum(figures: Figures): void;
  /** `quick`: their peaks are not known yet, the whole rows follow. */
  rows(rows: readonly LedgerRow[], quick: boolean): void;
  /** null: nothing is known of the section in loop any more. */
  section(found: SectionFindings | null): void;
  guards(results: readonly GuardResult[]): void;
  /** All that can be told of the newest blend has been told. */
  settled(): void;
  /** How much of the measuring of the newest blend is done, 0..1. */
  measuring(part: number): void;
  level(found: LevelFound): void;
  /** Measuring ended with an error. */
  failed(error: unknown): void;
}
