import { greatestAt } from '../../measure/peaks/greatest-at.ts';
import type { Fit } from './fit-balance.ts';
import { SIDES, type RoughProblem } from './model.ts';
import type { Sketch } from './sketch.ts';
import { blockOf, frameLength, groupCount, groupElements, type SketchPlan } from './sketch-plan.ts';

/** Shifts are looked for so many samples to either side (2 ms at 48 kHz): frames hold the same sound that far. */
const REACH = 100;
/** A shift explains this part at least, and so much more than none does; filters alone move less than LEAST samples. */
const [SHARED, MORE, LEAST] = [0.3, 0.1, 2];
/** A shift this near to whole samples is whole. */
const NEAR_WHOLE = 0.2;

/** What of the rough no other track explains, against one track, per kept bin. */
const crossOf = (problem: RoughProblem, fit: Fit, track: number) => {
  const { plan, sources, tracks } = problem;
  const { gains, levels } = fit.model;
  const length = frameLength(plan);
  const groups = groupCount(plan);
  const cross = new Float64Array(length);
  let [pp, tt] = [0, 0];
  const own = sources.all.flatMap((source, i) => (source.track === track ? [{ source, i }] : []));
  for (const side of SIDES) {
    const main = own.find(({ source }) => source.side !== (side === 0 ? 'right' : 'left'))!;
    for (let frame = 0; frame < plan.frames; frame++) {
      const block = blockOf(plan, frame);
      const level = levels[block * tracks + track]!;
      for (let g = 0; g < groups; g++) {
        const weight = fit.weights[block * groups + g]!;
        if (weight === 0) continue;
        const [from, to] = groupElements(plan, g);
        for (let e = from; e < to; e += 2) {
          const at = frame * length + e;
          let [tr, ti] = [fit.residual[side][at]!, fit.residual[side][at + 1]!];
          for (const { source, i } of own) {
            const gain = gains[side][i]! * level;
            tr += gain * source.channel[at]!;
            ti += gain * source.channel[at + 1]!;
          }
          const [xr, xi] = [main.source.channel[at]!, main.source.channel[at + 1]!];
          cross[e]! += weight * (xr * tr + xi * ti);
          cross[e + 1]! += weight * (xr * ti - xi * tr);
          // Where the track is silent the rest says nothing of it.
          if (xr !== 0 || xi !== 0) tt += weight * (tr * tr + ti * ti);
          pp += weight * (xr * xr + xi * xi);
        }
      }
    }
  }
  return { cross, scale: pp > 0 && tt > 0 ? 1 / Math.sqrt(pp * tt) : 0 };
};

/** The lag within REACH, in half samples, at which `cross` shares most, with either sign; 0 where all are alike. */
const greatestStep = ({ bins, size }: SketchPlan, cross: Float64Array): number => {
  const at = (lag: number) => Float64Array.from(bins, (bin) => (2 * Math.PI * bin * lag) / size);
  // What half a sample turns each bin by, and the bins themselves, turned on and on.
  const [first, step] = [at(-REACH), at(0.5)];
  const [stepRe, stepIm] = [step.map(Math.cos), step.map(Math.sin)];
  const re = first.map((angle, n) => cross[2 * n]! * Math.cos(angle) - cross[2 * n + 1]! * Math.sin(angle));
  const im = first.map((angle, n) => cross[2 * n]! * Math.sin(angle) + cross[2 * n + 1]! * Math.cos(angle));
  let [near, most] = [0, Math.abs(bins.reduce((sum, _, n) => sum + cross[2 * n]!, 0))];
  for (let lag = -REACH; lag <= REACH; lag += 0.5) {
    let sum = 0;
    for (let n = 0; n < re.length; n++) {
      const [r, i] = [re[n]!, im[n]!];
      sum += r;
      re[n] = r * stepRe[n]! - i * stepIm[n]!;
      im[n] = r * stepIm[n]! + i * stepRe[n]!;
    }
    if (Math.abs(sum) > most) [near, most] = [lag, Math.abs(sum)];
  }
  return near;
};

/**
 * Samples by which each track stands later in the rough than its file does (negative: earlier); 0 where it does not, or
 * cannot be told. By the phases between each track and what the others leave of the rough.
 */
export const trackShifts = (problem: RoughProblem, fit: Fit): number[] => {
  const { plan } = problem;
  return Array.from({ length: problem.tracks }, (_, track) => {
    const { cross, scale } = crossOf(problem, fit, track);
    const sharedAt = (lag: number): number => {
      let sum = 0;
      plan.bins.forEach((bin, n) => {
        const angle = (2 * Math.PI * bin * lag) / plan.size;
        sum += cross[2 * n]! * Math.cos(angle) - cross[2 * n + 1]! * Math.sin(angle);
      });
      return scale * sum;
    };
    const near = greatestStep(plan, cross);
    const sign = Math.sign(sharedAt(near));
    const samples = greatestAt((lag) => sign * sharedAt(lag), near - 0.5, near + 0.5);
    const [shared, atNone] = [Math.abs(sharedAt(samples)), Math.abs(sharedAt(0))];
    if (Math.abs(samples) < LEAST || shared < SHARED || shared - atNone < MORE) return 0;
    const whole = Math.round(samples);
    return Math.abs(samples - whole) < NEAR_WHOLE ? whole : Math.round(100 * samples) / 100;
  });
};

/** The sketch of a sound that is `samples` later. */
export const laterSketch = ({ bins, size, frames }: SketchPlan, { channels }: Sketch, samples: number): Sketch => {
  const turns = Array.from(bins, (bin) => {
    const angle = (-2 * Math.PI * bin * samples) / size;
    return [Math.cos(angle), Math.sin(angle)] as const;
  });
  return {
    channels: channels.map((channel) => {
      const out = new Float32Array(channel.length);
      for (let frame = 0, at = 0; frame < frames; frame++) {
        for (const [cos, sin] of turns) {
          out[at] = channel[at]! * cos - channel[at + 1]! * sin;
          out[at + 1] = channel[at]! * sin + channel[at + 1]! * cos;
          at += 2;
        }
      }
      return out;
    }),
  };
};
