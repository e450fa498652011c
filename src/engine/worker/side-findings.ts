import { framesOf, type Audio } from '../../audio/audio.ts';
import { fullMeasurementOf } from '../../measure/measure.ts';
import { Meter } from '../../measure/meter.ts';
import type { SideFindings } from '../engine.ts';
import { overTimeOf } from './over-time.ts';

/** Frames measured at a time. */
const PIECE = 8192;

/** All that the screen shows of one side, step by step; each step yields the part done, 0..1. */
export function* sideFindingsSteps(audio: Audio): Generator<number, SideFindings> {
  const meter = new Meter(audio.sampleRate, audio.channels.length, { details: true });
  const frames = framesOf(audio);
  for (let from = 0; from < frames; from += PIECE) {
    meter.push(audio.channels, from, Math.min(PIECE, frames - from));
    yield from / frames;
  }
  const { figures, details, series } = fullMeasurementOf(meter);
  return { ...figures, details, overTime: overTimeOf(series) };
}
