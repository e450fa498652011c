import type { LedgerRow } from '../../blend/ledger/ledger.ts';
import { peakFiguresOf, type Figures } from '../../measure/figures.ts';
import type { PathFindings } from '../engine.ts';

const withPeaksOf = (figures: Figures, earlier: Figures): Figures => ({ ...figures, ...peakFiguresOf(earlier) });

/** A row whose peaks are not known yet: those of the earlier row are kept and marked as old. */
export const quickRow = (row: LedgerRow, earlier: PathFindings | undefined): PathFindings => ({
  ...row,
  without: earlier ? withPeaksOf(row.without, earlier.without) : row.without,
  change: earlier ? withPeaksOf(row.change, earlier.change) : row.change,
  arePeaksOld: true,
});
