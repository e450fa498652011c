import type { PrintOrder } from '../print/print-order.ts';
import type { PrintText, PrintTexts } from '../print/print-texts.ts';
import { BUNDLE_REPORT } from './bundle-names.ts';

/** The order of a print without sound files, for its report and recall sheet. */
export const TEXTS_ONLY: PrintOrder = {
  ...{ bits: '24', rate: null, kinds: [], stemsTakeGain: false, targetLufs: null, ceilingDbtp: null },
};

/** Report and recall sheet of a print for a bundle, without the print's manifest, as the bundle has its own. */
export const bundledTexts = ({ texts, manifest }: Pick<PrintTexts, 'texts' | 'manifest'>): PrintText[] =>
  texts
    .filter(({ name }) => name !== manifest.name)
    .map(({ name, content }) => ({ name: `${BUNDLE_REPORT}${name}`, content }));
