import type { GuardResult } from '../../blend/guards/guards.ts';
import type { LedgerRow } from '../../blend/ledger/ledger.ts';
import type { Figures } from '../../measure/figures.ts';
import type { Overview, SectionFindings, SideFindings } from '../engine.ts';
import type { LevelFound } from './level-answers.ts';

/** A reference of blends. */
export type Side = 'rough' | 'received';

/** Receives each result as soon as it is known. */
export interface MeasuringListener {
  measured(side: Side, measurement: SideFindings, overview: Overview): void;
  mix(printed: SideFindings, overview: Overview): void;
  sum(figures: Figures): void;
  /** `quick`: their peaks are not known yet, the whole rows follow. */
  rows(rows: readonly LedgerRow[], quick: boolean): void;
  /** null: there are no figures of the section in loop any more. */
  section(found: SectionFindings | null): void;
  guards(results: readonly GuardResult[]): void;
  /** All results of the newest blend have been reported. */
  settled(): void;
  /** Part done of measuring the newest blend, 0..1. */
  measuring(part: number): void;
  level(found: LevelFound): void;
  /** Measuring ended with an error. */
  failed(error: unknown): void;
}
