import type { PrintOrder } from '../print/print-order.ts';
import type { PrintText, PrintTexts } from '../print/print-texts.ts';
import { BUNDLE_REPORT } from './bundle-names.ts';

/** A print without sound files: its report and recall sheet are wanted. */
export const TEXTS_ONLY: PrintOrder = {
  ...{ bits: '24', rate: null, kinds: [], stemsTakeGain: false, targetLufs: null, ceilingDbtp: null },
};

/** Report and recall sheet of a print as they stand in a bundle, which has a manifest of its own. */
export const bundledTexts = ({ texts, manifest }: Pick<PrintTexts, 'texts' | 'manifest'>): PrintText[] =>
  texts
    .filter(({ name }) => name !== manifest.name)
    .map(({ name, content }) => ({ name: `${BUNDLE_REPORT}${name}`, content }));
