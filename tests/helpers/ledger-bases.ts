import { ledgerBasisSteps, type LedgerBasis } from '../../src/blend/ledger/ledger.ts';
import { finished } from '../../src/audio/steps.ts';

/** The basis of a ledger, made at once. */
export const ledgerBasisOf = (...given: Parameters<typeof ledgerBasisSteps>): LedgerBasis =>
  finished(ledgerBasisSteps(...given));
