import { ledgerBasisSteps, type LedgerBasis } from '../../src/blend/ledger.ts';
import { finished } from '../../src/dsp/steps.ts';

/** The basis of a ledger, made at once. */
export const ledgerBasisOf = (...given: Parameters<typeof ledgerBasisSteps>): LedgerBasis =>
  finished(ledgerBasisSteps(...given));
