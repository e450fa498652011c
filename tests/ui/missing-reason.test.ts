import { expect, test } from 'vitest';
import { measure } from '../../src/measure/measure.ts';
import type { Figures } from '../../src/measure/figures.ts';
import { missingChange, missingReason } from '../../src/ui/findings/missing-reason.ts';

const SAMPLE_RATE = 48_000;
const SECONDS = 4;
const tone = (gain: number): Float32Array =>
  Float32Array.from(
    { length: SAMPLE_RATE * SECONDS },
    (_, n) => gain * Math.sin((2 * Math.PI * 997 * n) / SAMPLE_RATE),
  );
const measured = (left: number, right: number) =>
  measure({ sampleRate: SAMPLE_RATE, channels: [tone(left), tone(right)] });
const withoutReasons = ({ reasons: _, ...figures }: ReturnType<typeof measured>): Figures => figures;

test('a figure that is there needs no reason', () => {
  expect(missingReason('crestDb', measured(0.5, 0.5))).toBeUndefined();
});

test('what was not measured is called so', () => {
  expect(missingReason('crestDb', null)).toBe('Not measured yet');
});

test('the reason of the measurement is given where it was kept', () => {
  const silent = measured(0, 0);
  expect(missingReason('integratedLufs', silent)).toBe(silent.reasons['integratedLufs']);
});

test('without one it follows from the other figures: silence, one silent side, mono', () => {
  expect(missingReason('crestDb', withoutReasons(measured(0, 0)))).toBe('silent');
  expect(missingReason('stereo.correlation', withoutReasons(measured(0.5, 0)))).toBe('one side is silent');
  expect(missingReason('stereo.sideToMidDb', withoutReasons(measured(0.5, 0.5)))).toBe('no side: it is mono');
});

test('a change says which of the two is wanting', () => {
  const [quiet, loud] = [withoutReasons(measured(0, 0)), withoutReasons(measured(0.5, 0.4))];
  const names = ['without it', 'with it'] as const;
  expect(missingChange('crestDb', quiet, loud, names)).toBe('without it: silent');
  expect(missingChange('crestDb', loud, quiet, names)).toBe('with it: silent');
  expect(missingChange('crestDb', loud, loud, names)).toBeUndefined();
});
