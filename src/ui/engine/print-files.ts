import { printNames } from '../../files/print-names.ts';
import { readWav } from '../../files/wav-read.ts';
import { writeWav } from '../../files/wav-write.ts';
import { measure } from '../../measure/measure.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import type { Plan } from '../../render/plan.ts';
import { mainPrint, stemPrint } from '../../render/print.ts';
import type { Session } from '../../session/schema.ts';
import type { PrintedFile, PrintOptions } from './engine.ts';

const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

/** Prints what is rendered as WAV files: the main mix, and one stem for each path that is heard. Measured as written. */
export const printFiles = async (
  session: Session,
  plan: Plan,
  paths: RenderedPaths,
  { bits, kinds, onProgress, signal }: PrintOptions,
): Promise<readonly PrintedFile[]> => {
  const names = printNames(session);
  const main = { name: `${names.main}.wav`, kind: 'main' as const, make: () => mainPrint(plan, paths) };
  const stems = plan.paths
    .filter(({ gain }) => gain !== 0)
    .map(({ id }) => ({
      name: `${names.stems.get(id)!}.wav`,
      kind: 'stem' as const,
      make: () => stemPrint(plan, paths, id),
    }));
  const jobs = [...(kinds.includes('main') ? [main] : []), ...(kinds.includes('stems') ? stems : [])];
  const files: PrintedFile[] = [];
  for (const { name, kind, make } of jobs) {
    signal?.throwIfAborted();
    onProgress?.(files.length / jobs.length);
    await turn();
    // Each file has a dither of its own: equal dither would add up when stems are summed.
    const { bytes } = writeWav(make(), bits, { seed: files.length + 1 });
    const data = new Blob([bytes], { type: 'audio/wav' });
    files.push({ name, kind, data, figures: measure(readWav(bytes, name)) });
  }
  onProgress?.(1);
  return files;
};
