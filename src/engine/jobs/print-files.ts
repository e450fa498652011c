import type { Audio } from '../../audio/audio.ts';
import { printSong, type PrintedSong, type PrintSounds } from '../../files/print-song.ts';
import type { ReportContent } from '../../files/report.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import type { Plan } from '../../render/plan.ts';
import { printableOf } from '../../render/print.ts';
import type { Session } from '../../session/schema.ts';
import type { Variant } from '../../session/variants.ts';
import type { PrintOptions } from '../engine.ts';

/** What there is to print. */
export interface PrintStudio {
  readonly session: Session;
  readonly plan: Plan;
  readonly paths: RenderedPaths;
  /** Renders and prints a variant of the session. */
  readonly variant: (variant: Variant, signal: AbortSignal | undefined) => Promise<Audio>;
  /** What the mix is compared with. */
  readonly before: ReportContent['before'];
  /** As `PrintSounds` has them. */
  readonly guards: PrintSounds['guards'];
  readonly ledger: PrintSounds['ledger'];
}

const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

/** Prints what is rendered, as the command line does. */
export const printFiles = async (
  { session, plan, paths, variant, before, guards, ledger }: PrintStudio,
  { onProgress, signal, ...order }: PrintOptions,
): Promise<PrintedSong<Blob>> => {
  const sounds = {
    ...printableOf(plan, paths),
    variant: (kind: Variant) => variant(kind, signal),
    before: () => Promise.resolve(before),
    ...{ guards, ledger },
  };
  return printSong(session, order, sounds, {
    hold: (bytes) => new Blob([bytes], { type: 'audio/wav' }),
    pace: async (done) => {
      signal?.throwIfAborted();
      onProgress?.(done);
      await turn();
    },
    targetName: 'The loudness target',
    date: new Date(),
  });
};
