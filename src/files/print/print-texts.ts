import { baseName, textNames } from './print-parts.ts';
import { manifestText, type Manifest, type ManifestFile } from './manifest.ts';
import { recallPage, recallSheet } from '../report/recall-sheet.ts';
import { report, reportData, reportPage, type ReportContent } from '../report/report.ts';
import type { PrintOrder } from './print-order.ts';
import { commonFacts } from './print-parts.ts';
import { digestOf } from '../bytes/sha256.ts';

/** A text that accompanies the printed files. */
export interface PrintText {
  readonly name: string;
  readonly content: string;
}

export interface PrintTexts {
  readonly report: PrintText;
  readonly recallSheet: PrintText;
  /** Every file of the print with its digest, for `verify`. */
  readonly manifest: PrintText;
  /** All texts: report and recall sheet in their forms, and the manifest. */
  readonly texts: readonly PrintText[];
}

/** A text's entry in the manifest. */
const listedText = async ({ name, content }: PrintText): Promise<ManifestFile> => ({
  path: name,
  ...(await digestOf([new TextEncoder().encode(content)])),
});

/** Fields of a manifest for all files. */
const scopeOf = (
  order: PrintOrder,
  { pass, section }: { readonly pass: string; readonly section: string },
): Pick<Manifest, 'pass' | 'section' | 'startsAtSeconds'> => ({
  ...(pass === '' ? {} : { pass }),
  ...(section === '' ? {} : { section }),
  startsAtSeconds: (order.span?.startSeconds ?? 0) - (order.headSeconds ?? 0),
});

/** The texts of a print whose sound files are `listed`. */
export const textsOf = async (
  content: ReportContent,
  order: PrintOrder,
  listed: readonly ManifestFile[],
): Promise<PrintTexts> => {
  const { session, date } = content;
  const { title, artist } = session;
  const names = textNames(baseName(session, order, date));
  const reported = { name: names.report, content: report(content) };
  const recalled = { name: names.recallSheet, content: recallSheet(session) };
  const told = [
    { name: names.reportPage, content: await reportPage(content) },
    reported,
    { name: names.reportData, content: reportData(content) },
    { name: names.recallPage, content: recallPage(session) },
    recalled,
  ];
  const manifest = {
    name: names.manifest,
    content: manifestText({
      ...{ title, artist, printed: date.toISOString() },
      ...scopeOf(order, commonFacts(session, order, date)),
      files: [...listed, ...(await Promise.all(told.map(listedText)))],
    }),
  };
  return { report: reported, recallSheet: recalled, manifest, texts: [...told, manifest] };
};
