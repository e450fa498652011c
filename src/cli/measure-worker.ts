import { parentPort } from 'node:worker_threads';
import { ProblemError } from '../session/problem.ts';
import { measureFile, openStream, spectrumOfStream } from './measure-file.ts';
import type { MeasureAnswer, MeasureJob } from './measure-threads.ts';

/** One thread of `measure`: does each job that it is sent, and answers. */
const answerTo = async ({ kind, file }: MeasureJob): Promise<MeasureAnswer> => {
  try {
    if (kind === 'figures') return { kind, measured: await measureFile(file) };
    const stream = await openStream(file);
    if (!stream) return { kind, spectrum: null };
    return { kind, spectrum: await spectrumOfStream(stream).finally(() => stream.close()) };
  } catch (error) {
    if (error instanceof ProblemError) return { kind: 'problem', problem: error.problem };
    throw error;
  }
};

parentPort?.on('message', (job: MeasureJob) => {
  void answerTo(job).then((answer) => parentPort?.postMessage(answer));
});
