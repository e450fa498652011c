import type { ShownKey } from '../findings/figure-rows.ts';

/** A figure of the ledger's tables, under a name that fits a narrow column. */
export interface LedgerFigure {
  readonly key: ShownKey;
  readonly label: string;
  readonly unit: string;
}

export const LEDGER_FIGURES: readonly LedgerFigure[] = [
  { key: 'integratedLufs', label: 'Loudness', unit: 'LU' },
  { key: 'loudnessRangeLu', label: 'LRA', unit: 'LU' },
  { key: 'crestDb', label: 'Crest', unit: 'dB' },
  { key: 'stereo.sideToMidDb', label: 'Width', unit: 'dB' },
  { key: 'stereo.monoLossLu', label: 'Fold', unit: 'LU' },
];
