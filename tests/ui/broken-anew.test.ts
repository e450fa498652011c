import { expect, test } from 'vitest';
import type { GuardResult } from '../../src/blend/guards/guards.ts';
import { brokenAnew } from '../../src/ui/screen/broken-anew.ts';

const guard = (name: GuardResult['name'], pass: boolean) => ({ name, pass, sentence: `${name} says so.` });

test('only what changed of the guards is said', () => {
  const held = [guard('width change', true), guard('true-peak ceiling', true)];
  const broken = [guard('width change', false), guard('true-peak ceiling', true)];
  expect(brokenAnew(null, held)).toBe('');
  expect(brokenAnew(null, broken)).toBe('Guard broken: width change says so.');
  expect(brokenAnew(broken, broken)).toBe('');
  expect(brokenAnew(held, [guard('width change', false), guard('true-peak ceiling', false)])).toBe(
    '2 guards broken: width change, true-peak ceiling.',
  );
  expect(brokenAnew(broken, held)).toBe('All guards hold again.');
  expect(brokenAnew([guard('width change', false), guard('true-peak ceiling', false)], broken)).toBe(
    'Guards that hold again: true-peak ceiling.',
  );
});
