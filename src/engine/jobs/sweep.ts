import {
  sweepFigures,
  sweepPoints,
  sweepRowSteps,
  sweepSteps,
  type Sweep,
  type SweepFigures,
  type SweepPoint,
  type SweepRow,
} from '../../blend/sweep/sweep.ts';
import { sweptSession, type SweptSession } from '../../blend/sweep/swept-session.ts';
import { soundOf } from '../../render/executor.ts';
import { setBlend } from '../../session/edits/edits.ts';
import type { Session } from '../../session/schema.ts';
import { framesIn, type Frames } from '../excerpt.ts';
import { partOfJob, steppedRows, type Job } from '../job.ts';
import type { SweepQuestion } from '../questions.ts';
import type { MixSpace, Workshop } from '../workshop.ts';

export type SweepTask = Omit<SweepQuestion, 'kind'>;

/** A sweep with its reference. */
export interface SweepAnswer extends Sweep {
  /** The current mix, which rows are matched to and compared with. */
  readonly reference: SweepFigures;
  /** Swept buses that are off in the session, and were swept as if they were on. */
  readonly off: readonly string[];
  /** Every row was rendered, as a swept bus has a post-fader send to another; then there are no marks. */
  readonly rendersEach: boolean;
}

/** A running sweep. */
interface Walk {
  readonly workshop: Workshop;
  readonly task: SweepTask;
  readonly swept: SweptSession;
  readonly frames: Frames | null;
  /** The current mix. */
  readonly standing: MixSpace;
  readonly reference: SweepFigures;
}

/** Points of a sweep with the same sound of every path: one render serves all of them. */
interface Batch {
  readonly places: readonly number[];
  readonly session: Session;
}

/** Part of a sweep that is done once the current mix is measured. */
const STANDING = 0.2;

/** Paths do not depend on the swept blends: one render serves all rows. */
async function* atOnce({ workshop, task, swept, frames, standing, reference }: Walk): Job<Sweep, SweepRow> {
  const until = workshop.renderedUntil(frames);
  const mix = yield* partOfJob(workshop.song.renderedAfter(swept.session, standing.mix, until), 0, 0.25);
  const space = yield* partOfJob(workshop.spaceOf(mix, frames, standing), 0.25, 0.5);
  const gains = space.gains.map((gain, n) => (swept.off.includes(space.query.ids[n]!) ? 0 : gain));
  const { axis, second } = task;
  return yield* steppedRows<Sweep, SweepRow>(
    (onRow) => sweepSteps({ ...space, gains }, axis, reference, second, onRow),
    0.5,
  );
}

const ledTo = (session: Session, { axis, second }: SweepTask, point: SweepPoint): Session => {
  const led = setBlend(session, axis.bus, point.blendDb);
  return second ? setBlend(led, second.bus, point.secondBlendDb!) : led;
};

const batchesOf = ({ workshop, task, swept }: Walk, points: readonly SweepPoint[]): Batch[] => {
  const batches = new Map<string, { places: number[]; session: Session }>();
  points.forEach((point, place) => {
    const session = ledTo(swept.session, task, point);
    const sound = soundOf(workshop.song.planned(session).plan);
    const batch = batches.get(sound) ?? { places: [], session };
    batch.places.push(place);
    batches.set(sound, batch);
  });
  return [...batches.values()];
};

/** Other paths depend on the swept blends: each blend is rendered and measured. */
async function* oneByOne(walk: Walk): Job<Sweep, SweepRow> {
  const { workshop, task, swept, frames, standing, reference } = walk;
  const { song } = workshop;
  const { axis, second } = task;
  const points = sweepPoints(axis, second);
  const rows = new Array<SweepRow>(points.length);
  const until = workshop.renderedUntil(frames);
  let before = standing;
  let done = 0;
  for (const { places, session } of batchesOf(walk, points)) {
    const partAt = (places: number): number => (done + places) / points.length;
    const render = song.renderedAfter(session, standing.mix, until);
    const rendered = yield* partOfJob(render, partAt(0), partAt(places.length / 2));
    for (const [n, place] of places.entries()) {
      const point = points[place]!;
      const [from, to] = [n, n + 1].map((k) => partAt((places.length + k) / 2)) as [number, number];
      // The paths are those already rendered, at other gains.
      const mix = yield* song.renderedAfter(ledTo(swept.session, task, point), rendered, until);
      const space = yield* partOfJob(workshop.spaceOf(mix, frames, before), from, (from + to) / 2);
      const [row] = yield* steppedRows<SweepRow[], SweepRow>(
        (onRow) => sweepRowSteps(space, [point], axis, reference, second, onRow),
        (from + to) / 2,
        to,
      );
      rows[place] = row!;
      before = space;
    }
    done += places.length;
  }
  return { rows, marks: null };
}

/**
 * Figures along the blends of one bus, or of two as a grid, all others unchanged; each row is reported as soon as it is computed.
 * @throws Error with one clear sentence when the section begins after the end of the song
 */
export async function* sweep(workshop: Workshop, task: SweepTask): Job<SweepAnswer, SweepRow> {
  const { axis, second, section } = task;
  const swept = sweptSession(workshop.session, [axis.bus, ...(second ? [second.bus] : [])]);
  workshop.stretch(section);
  // Rendered blends may be longer: the range is not cut at the end of the current mix.
  const frames = framesIn(section, workshop.mix.plan.sampleRate);
  const standing = yield* partOfJob(workshop.space(frames), 0, STANDING);
  const reference = sweepFigures(standing, standing.gains);
  const walk: Walk = { workshop, task, swept, frames, standing, reference };
  const answer = yield* partOfJob(swept.rendersEach ? oneByOne(walk) : atOnce(walk), STANDING, 1);
  return { ...answer, reference, off: swept.off, rendersEach: swept.rendersEach };
}
