import { ledgerBasisSteps, type LedgerBasis } from '../../src/blend/ledger/ledger.ts';
import { DIRECT, type PathOrigin } from '../../src/dsp/core/arrival.ts';
import { finished } from '../../src/audio/steps.ts';

/** Of a group without chains. */
export const ALONE: PathOrigin = { doubles: [], arrival: DIRECT };

/** The basis of a ledger, made at once. */
export const ledgerBasisOf = (...given: Parameters<typeof ledgerBasisSteps>): LedgerBasis =>
  finished(ledgerBasisSteps(...given));
