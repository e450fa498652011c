import { expect, test } from 'vitest';
import { longestSilence } from '../../../src/render/plan/silence-before.ts';

const source = (id: string, startFrame: number, frames: number) => ({ id, startFrame, frames });

test('the longest silence is what lies before a source and beyond the end of all before it', () => {
  const song = [source('late', 900, 10), source('whole', -50, 500), source('short', 100, 50), source('mid', 700, 100)];
  expect(longestSilence({ sources: song })).toEqual({ source: song[3], frames: 250 });
  expect(longestSilence({ sources: [source('only', 80, 5)] })!.frames).toBe(80);
  expect(longestSilence({ sources: [source('at once', -1, 5)] })!.frames).toBe(0);
  expect(longestSilence({ sources: [] })).toBe(null);
});
