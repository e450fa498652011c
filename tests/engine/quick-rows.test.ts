import { expect, test } from 'vitest';
import { ledgerRows, mixFiguresOf } from '../../src/blend/ledger/ledger.ts';
import { ALONE, ledgerBasisOf } from '../helpers/ledger-bases.ts';
import { quickRow } from '../../src/engine/worker/quick-rows.ts';
import { pinkNoise, stereo } from '../helpers/signals.ts';

const SECONDS = 4;
const basis = ledgerBasisOf([
  { id: 'band', audio: stereo(pinkNoise(SECONDS, 1, 0.1), pinkNoise(SECONDS, 2, 0.1)), ...ALONE },
  { id: 'bus', audio: stereo(pinkNoise(SECONDS, 3, 0.1)), ...ALONE },
]);
const rowsAt = (gains: readonly number[], peaks: boolean) => [
  ...ledgerRows(basis, gains, mixFiguresOf(basis, gains), peaks),
];

test('a quick row has all but the peaks of the whole one', () => {
  const [quick, whole] = [rowsAt([1, 0.8], false)[1]!, rowsAt([1, 0.8], true)[1]!];
  expect(quick.shareOfLoudness).toBe(whole.shareOfLoudness);
  expect(quick.change.integratedLufs).toBe(whole.change.integratedLufs);
  expect(quick.change.stereo).toEqual(whole.change.stereo);
  expect(quick.change.bands).toEqual(whole.change.bands);
  expect([quick.change.crestDb, quick.without.truePeakDbtp]).toEqual([null, null]);
});

test('until the peaks are found, those from before the move stay and are marked', () => {
  const before = rowsAt([1, 0.5], true)[1]!;
  const moved = quickRow(rowsAt([1, 0.8], false)[1]!, before);
  expect(moved.change.crestDb).toBe(before.change.crestDb);
  expect(moved.change.integratedLufs).not.toBe(before.change.integratedLufs);
  expect(moved.arePeaksOld).toBe(true);
});
