import { parentPort } from 'node:worker_threads';
import { ProblemError } from '../session/problem.ts';
import { measureFile, openStream, spectrumOfStream } from './measure-file.ts';
import type { MeasureAnswer, MeasureJob } from './measure-threads.ts';

/** One thread of `measure`: does each job that it is sent, and answers. */
const answerTo = async (job: MeasureJob): Promise<MeasureAnswer> => {
  try {
    if (job.kind === 'figures') return { kind: 'figures', measured: await measureFile(job.file, job.wanted) };
    const stream = await openStream(job.file);
    if (!stream) return { kind: 'spectrum', spectrum: null };
    try {
      return { kind: 'spectrum', spectrum: await spectrumOfStream(stream) };
    } finally {
      await stream.close();
    }
  } catch (error) {
    if (error instanceof ProblemError) return { kind: 'problem', problem: error.problem };
    throw error;
  }
};

parentPort?.on('message', (job: MeasureJob) => {
  void answerTo(job).then((answer) => parentPort?.postMessage(answer));
});
