import { once } from 'node:events';
import { existsSync } from 'node:fs';
import { availableParallelism } from 'node:os';
import { fileURLToPath } from 'node:url';
import { Worker } from 'node:worker_threads';
import type { Spectrum } from '../measure/spectrum.ts';
import { ProblemError, type Problem } from '../session/problem.ts';
import type { TimeSeries } from '../measure/time-series.ts';
import { measureFile, openStream, type MeasuredFile, type Wanted } from './measure-file.ts';

/** A job for one thread: all figures of a file, or its spectrum alone. */
export type MeasureJob =
  | { readonly kind: 'figures'; readonly file: string; readonly wanted: Wanted }
  | { readonly kind: 'spectrum'; readonly file: string };

/** The answer of a job. A file that is not streamed has no separate spectrum. */
export type MeasureAnswer =
  | { readonly kind: 'figures'; readonly measured: MeasuredFile }
  | { readonly kind: 'spectrum'; readonly spectrum: Spectrum | null }
  | { readonly kind: 'problem'; readonly problem: Problem };

/** The built thread next to the built command line. Run from the sources (tests) there is none, and everything runs in one thread. */
const THREAD = fileURLToPath(new URL('measure-worker.js', import.meta.url));

/** Starting a thread takes as long as measuring about this much sound, seconds. */
const WORTH_A_THREAD = 20;

const cores = (): number => (existsSync(THREAD) ? availableParallelism() : 1);

const answerOf = async (thread: Worker, job: MeasureJob): Promise<MeasureAnswer> => {
  thread.postMessage(job);
  const [answer] = (await once(thread, 'message')) as [MeasureAnswer];
  if (answer.kind === 'problem') throw new ProblemError(answer.problem);
  return answer;
};

/**
 * Figures of files, in their order. Several files are measured at the same time, one on each core; of a single long one
 * a second core takes the spectrum.
 *
 * @param onFile called when a file is begun
 * @throws ProblemError for the first file that cannot be read
 */
export async function measureFiles(
  files: readonly string[],
  wanted: Wanted,
  onFile: (file: string) => void,
): Promise<MeasuredFile[]> {
  const [only] = files;
  if (files.length === 1 && only !== undefined) {
    onFile(only);
    return [await measureOnTwo(only, wanted)];
  }
  const measured: MeasuredFile[] = [];
  let next = 0;
  const lane = async (one: (file: string) => Promise<MeasuredFile>): Promise<void> => {
    for (let n = next++; n < files.length; n = next++) {
      onFile(files[n]!);
      measured[n] = await one(files[n]!);
    }
  };
  const threads = Array.from({ length: Math.min(cores(), files.length) - 1 }, () => new Worker(THREAD));
  try {
    await Promise.all([
      lane((file) => measureFile(file, wanted)),
      ...threads.map((thread) =>
        lane(async (file) => {
          const answer = await answerOf(thread, { kind: 'figures', file, wanted });
          if (answer.kind !== 'figures') throw new RangeError('a measuring thread gave the wrong kind of answer');
          return answer.measured;
        }),
      ),
    ]);
  } finally {
    await Promise.all(threads.map((thread) => thread.terminate()));
  }
  return measured;
}

/**
 * Figures of one file, its spectrum on a second core if it is long enough.
 *
 * @param onSeries given the time series, where the details are wanted
 * @throws ProblemError if it cannot be read
 */
export async function measureOnTwo(
  file: string,
  wanted: Wanted,
  onSeries?: (series: TimeSeries) => void,
): Promise<MeasuredFile> {
  if (wanted.only) return measureFile(file, wanted);
  const stream = await openStream(file);
  const seconds = stream ? stream.frames / stream.format.sampleRate : 0;
  await stream?.close();
  if (seconds < WORTH_A_THREAD || cores() < 2) return measureFile(file, wanted, undefined, onSeries);
  const thread = new Worker(THREAD);
  try {
    const spectrum = answerOf(thread, { kind: 'spectrum', file }).then((answer) => {
      if (answer.kind !== 'spectrum' || !answer.spectrum) throw new RangeError('a thread gave no spectrum');
      return answer.spectrum;
    });
    // Where reading fails here, the answer of the other thread is not waited for.
    spectrum.catch(() => undefined);
    return await measureFile(file, wanted, spectrum, onSeries);
  } finally {
    await thread.terminate();
  }
}
