import type { Sound } from '../../audio/audio.ts';
import { measureFullySteps } from '../../measure/measure.ts';
import type { SideFindings } from '../engine.ts';
import { overTimeOf } from './over-time.ts';

/** All figures of one side for the screen, step by step; each step yields the part done, 0..1. */
export function* sideFindingsSteps(sound: Sound): Generator<number, SideFindings> {
  const { figures, details, series } = yield* measureFullySteps(sound);
  return { ...figures, details, overTime: overTimeOf(series) };
}
