import type { BlendBench } from '../blend/solve/blend-bench.ts';
import { decibelsOf } from '../audio/decibels.ts';
import type { ReportPath } from '../files/report.ts';

/** The ledger as a report has it: what each path that sounds does to the loudness before the mix bus. */
export const reportPathsOf = ({ paths, query, gains }: BlendBench): ReportPath[] => {
  const whole = query.essentials(gains).integratedLufs;
  const shares = query.shares(gains);
  return paths.flatMap(({ name, kind }, n) => {
    const gain = gains[n]!;
    if (gain === 0) return [];
    const without = query.essentials(gains.map((each, k) => (k === n ? 0 : each))).integratedLufs;
    const changeLu = whole === null || without === null ? null : whole - without;
    return [{ name, kind, levelDb: decibelsOf(gain), share: shares[n] ?? null, changeLu }];
  });
};
