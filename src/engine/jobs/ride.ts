import { placedSound, type Sound } from '../../audio/audio.ts';
import type { Range } from '../../audio/range.ts';
import { RIDE_STEP, rideFigures, rideGains, type RideFigures, type RideTask } from '../../blend/ride/ride.ts';
import { blockPowers } from '../../measure/loudness/loudness.ts';
import { weightedEnergySteps } from '../../measure/loudness/weighted-energy.ts';
import { controlOf, isControl } from '../../session/lines/controls.ts';
import { lineOf, overStretch, removeLine, setLine } from '../../session/lines/line-edits.ts';
import { fewPoints } from '../../session/lines/few-points.ts';
import { LEAST_DISTANCE } from '../../session/lines/line-values.ts';
import type { Line, LinePoint } from '../../session/lines/line-schema.ts';
import { CLOSED_DB, LOUDEST_DB, type Session } from '../../session/schema.ts';
import { excerptOf } from '../excerpt.ts';
import { partOfJob, stepped, type Job } from '../job.ts';
import type { Mix } from '../song.ts';
import type { Workshop } from '../workshop.ts';

/** Largest error of a line after points are removed, dB. */
const DRAWN_DB = 0.05;

/** The result of a ride. */
export interface Ridden {
  /** The session with the line. */
  readonly session: Session;
  readonly line: Line;
  readonly before: RideFigures;
  readonly after: RideFigures;
}

interface RideAsked extends RideTask {
  /** Group or bus. */
  readonly path: string;
  /** null: the whole song. */
  readonly section: Range | null;
}

/** The path as it reaches the mix bus, at its fader and with its lines, over a range. */
const heardOf = (
  { plan, paths }: Mix,
  id: string,
  { from, to }: { readonly from: number; readonly to: number },
): Sound => {
  const { gain } = plan.paths.find((path) => path.id === id)!;
  const { sampleRate, channels } = excerptOf(placedSound(paths.get(id)!, 0, plan.soundFrames), { from, to });
  return {
    sampleRate,
    channels: channels.map((channel) => ({
      length: channel.length,
      subarray: (start: number, end: number) => channel.subarray(start, end).map((x) => gain * x),
    })),
  };
};

function* powersSteps(sound: Sound): Generator<number, Float64Array> {
  return blockPowers(yield* weightedEnergySteps(sound));
}

/** The gains as points of a line, seconds and dB, with as few points as the tolerance allows. */
const pointsFrom = (gains: Float64Array, startSeconds: number, standingDb: number): LinePoint[] =>
  fewPoints(
    gains.map((_, n) => n),
    gains,
    DRAWN_DB,
  ).map((n): LinePoint => {
    const value = Math.max(CLOSED_DB, Math.min(LOUDEST_DB, standingDb + gains[n]!));
    // Rounded to 0.01 dB, which is not audible and easier to read.
    return { at: startSeconds + (n + 0.5) * RIDE_STEP, value: Math.round(100 * value) / 100, curve: 'linear' };
  });

/** Gains of a section, which begin and end at the fader's level and move no faster than allowed. */
const pinned = (gains: Float64Array, rate: number): Float64Array =>
  gains.map((db, n) => {
    const most = rate * RIDE_STEP * Math.min(n + 0.5, gains.length - n - 0.5);
    return Math.max(-most, Math.min(most, db));
  });

/**
 * A line of a path's fader (or blend) that keeps its short-term loudness in a range over a section; outside of it nothing changes. The
 * ride starts from the fader's level: an existing line is replaced over the section.
 * @throws Error when the section begins after the end of the song, the path is not heard there, or less of it would be in range
 */
export async function* ride(workshop: Workshop, { path, section, ...task }: RideAsked): Job<Ridden> {
  const { song, session } = workshop;
  const target = { of: path, what: 'level' as const };
  const line = lineOf(session, target);
  const standing = line ? removeLine(session, line.id) : session;
  const mix = yield* partOfJob(song.renderedAfter(standing, workshop.mix), 0, 0.3);
  const { sampleRate, songFrames } = mix.plan;
  const frames = workshop.stretch(section) ?? { from: 0, to: songFrames };
  const { gain } = mix.plan.paths.find(({ id }) => id === path)!;
  const powers = yield* stepped(powersSteps(heardOf(mix, path, frames)), 0.3, 0.6);
  const before = rideFigures(powers, powers, task);
  if (gain === 0 || before.withinShare === null)
    throw new Error('This path is not loud enough there for a ride: it is off, closed or silent.');
  const gains = rideGains(powers, task);
  const control = controlOf(standing, target);
  const standingDb = isControl(control) ? Number(control.setting) : 0;
  const [start, end] = [frames.from / sampleRate, frames.to / sampleRate];
  const ridden = section
    ? overStretch(session, target, { startSeconds: start, endSeconds: end }, [
        { at: start, value: standingDb, curve: 'linear' },
        ...pointsFrom(pinned(gains, task.rate), start, standingDb),
        { at: end - LEAST_DISTANCE, value: standingDb, curve: 'hold' },
      ])
    : setLine(session, { target, unit: 'seconds', on: true, points: pointsFrom(gains, 0, standingDb) });
  const moved = yield* partOfJob(song.renderedAfter(ridden, workshop.mix), 0.6, 0.7);
  const powersAfter = yield* stepped(powersSteps(heardOf(moved, path, frames)), 0.7, 1);
  const after = rideFigures(powers, powersAfter, task);
  if (after.withinShare! < before.withinShare)
    throw new Error(
      'A ride would leave less of this path within the range than now: choose a wider range, or a faster fader.',
    );
  return { session: ridden, line: lineOf(ridden, target)!, before, after };
}
