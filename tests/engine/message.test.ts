import { expect, it, vi } from 'vitest';
import { ProblemError, sentenceOf } from '../../src/session/problem.ts';
import { messageOf, plainSentence } from '../../src/engine/message.ts';

const PROBLEM = { code: 'mismatch', path: 'a.wav', expected: 'one or two channels', found: '3' } as const;

it('what was written for a reader is told as it stands', () => {
  expect(plainSentence(new ProblemError(PROBLEM), 'otherwise')).toBe(sentenceOf(PROBLEM));
  expect(plainSentence(new Error('Ask again in a moment.'), 'otherwise')).toBe('Ask again in a moment.');
  expect(messageOf(new Error('ask again in a moment'))).toBe('This could not be done: ask again in a moment.');
});

it('what comes out of the language or the browser is told to the console, and the reader gets a plain sentence', () => {
  const told = vi.spyOn(console, 'error').mockImplementation(() => {});
  const raw = [
    new RangeError('paths must be stereo, of one sample rate and equally long'),
    new TypeError("Cannot read properties of undefined (reading 'channels')"),
    new DOMException('The number of frames provided (0) is less than the minimum bound (1).', 'NotSupportedError'),
  ];
  for (const error of raw) {
    expect(plainSentence(error, 'There is a fault.')).toBe('There is a fault.');
    expect(messageOf(error)).toMatch(/^This could not be done: there is a fault in the app; .*\.$/);
    expect(told).toHaveBeenLastCalledWith(error);
  }
  told.mockRestore();
});
