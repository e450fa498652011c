import { ProblemError } from '../session/problem.ts';

/** A named range of a sound, seconds. */
export interface NamedSpan {
  readonly name: string;
  readonly startSeconds: number;
  readonly endSeconds: number;
}

/** First and last frame of a section in a file. @throws ProblemError when it begins after its end */
export const framesOfSpan = (span: NamedSpan, file: string, sampleRate: number, frames: number): [number, number] => {
  const from = Math.round(span.startSeconds * sampleRate);
  const to = Math.min(frames, Math.round(span.endSeconds * sampleRate));
  if (from < to) return [from, to];
  const expected = `section "${span.name}" to begin within its ${(frames / sampleRate).toFixed(2)} s`;
  throw new ProblemError({ code: 'out-of-range', path: file, expected, found: `a start at ${span.startSeconds} s` });
};
