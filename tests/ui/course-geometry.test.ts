import { expect, test } from 'vitest';
import { courseLine, courseRange, valueAt } from '../../src/ui/findings/course-geometry.ts';

const course = (...values: number[]) => ({
  values: Float32Array.from(values),
  hopSeconds: 0.1,
  loudness: new Float32Array(values.length).fill(-20),
});
const NONE = Number.NaN;

test('the value at a time is that of the window which ends there', () => {
  const loudness = course(NONE, -20, -18);
  expect(valueAt(loudness, 0.05)).toBeNull();
  expect(valueAt(loudness, 0.2)).toBe(-20);
  expect(valueAt(loudness, 0.25)).toBe(-18);
  expect(valueAt(loudness, 9)).toBeNull();
});

test('a fade does not press the song into a corner, and a steady course still has room', () => {
  const song = course(...Array.from({ length: 100 }, (_, n) => (n < 90 ? -17 : -60)));
  expect(courseRange([song], 6, -60, 6, 24)).toEqual([-36, -12]);
  expect(courseRange([course(-12, -12)], 6, -60, 6, 24)).toEqual([-12, -6]);
});

test('what is 20 LU below the loudest does not choose the ends: a tail that is all side', () => {
  const width = { ...course(-9, -8, -9, 11, 12), loudness: Float32Array.of(-18, -17, -18, -38, -50) };
  expect(courseRange([width], 3, -42, 12, 24)).toEqual([-9, -6]);
});

test('without any value the whole range is shown', () => {
  expect(courseRange([course(NONE)], 6, -60, 6, 24)).toEqual([-60, 6]);
});

test('the line breaks where there is no value, and ends with the song', () => {
  const chart = { width: 100, height: 10, low: 0, high: 10 };
  expect(courseLine(course(0, 10, NONE, 10, 5), chart, 0.4)).toBe('M25,10L50,0M100,0Z');
});
