import { printNames } from '../../files/print-names.ts';
import { recallSheet } from '../../files/recall-sheet.ts';
import { report, type ReportContent } from '../../files/report.ts';
import type { Figures } from '../../measure/figures.ts';
import type { Session } from '../../session/schema.ts';
import type { PrintedFile, PrintOptions } from '../engine/engine.ts';

export interface PrintedSong {
  readonly session: Session;
  readonly bits: PrintOptions['bits'];
  /** What is handed over. */
  readonly files: readonly PrintedFile[];
  /** What the mix is compared with. */
  readonly before: ReportContent['before'];
  /** The mix as printed, also where only stems are handed over. */
  readonly mix: Figures;
}

const notes = (files: readonly PrintedFile[]): string[] => [
  ...(files.some(({ kind }) => kind === 'main') ? ['The level of the mix was not changed.'] : []),
  ...(files.some(({ kind }) => kind === 'stem') ? ['The stems are at the level of the mix before the mix bus.'] : []),
  ...files
    .filter(({ figures }) => figures.clippedSamples > 0)
    .map(
      ({ name, figures }) =>
        `${figures.clippedSamples} samples of ${name} are clipped at full scale; print as 32 bit float, or lower the level.`,
    ),
];

/** The report and the recall sheet that go with printed files, as Markdown files. */
export const printTexts = ({ session, bits, files, before, mix }: PrintedSong): { name: string; data: Blob }[] => {
  const { main } = printNames(session);
  const text = (name: string, content: string): { name: string; data: Blob } => ({
    name: `${main} - ${name}.md`,
    data: new Blob([content], { type: 'text/markdown' }),
  });
  const { title, sampleRate } = session;
  return [
    text(
      'report',
      report({
        title,
        files: files.map(({ name, kind, figures }) => ({ name, kind, bits, sampleRate, figures })),
        before,
        after: mix,
        levelNotes: notes(files),
      }),
    ),
    text('recall sheet', recallSheet(session)),
  ];
};
