import { sweepGround, type SweepGround } from '../../blend/sweep/sweep-ground.ts';
import { sweepPoints, type Sweep, type SweepPoint, type SweepRow } from '../../blend/sweep/sweep.ts';
import { framesOf, type Audio } from '../../audio/audio.ts';
import { soundOf, type Executor, type RenderedPaths, type Strips } from '../../render/executor.ts';
import { gainsOf } from '../../render/mix.ts';
import type { Plan } from '../../render/plan.ts';
import { planUntil, stripsUntil } from '../../render/plan-until.ts';
import { settledPlan } from '../../render/print.ts';
import type { Sources } from '../../render/sources.ts';
import { setBlend } from '../../session/edits.ts';
import type { Session } from '../../session/schema.ts';
import { copyOf, excerptOf, framesIn, isSameSound, stretchIn, type Frames } from '../excerpt.ts';
import { askingFor, type Asking, type SweepQuestion } from '../questions.ts';
import type { StretchSounds, SweepJob, SweepRound } from './sweep-job.ts';

/** What is at hand to sweep with. */
export interface SweepStudio {
  readonly session: Session;
  /** Of the mix as it stands, as long as it turned out to be. */
  readonly plan: Plan;
  /** Its paths, which the worker has. */
  readonly paths: RenderedPaths;
  readonly rough: Audio | null;
  readonly planOf: (session: Session) => { readonly plan: Plan; readonly sources: Sources };
  readonly render: Executor;
  /** Strips rendered before. */
  readonly strips: Strips;
  /** The groups as received, and how long they sound, frames. */
  readonly received: (signal: AbortSignal | undefined) => Promise<{ paths: RenderedPaths; soundFrames: number }>;
  /** Has the worker answer a part. */
  readonly ask: (job: SweepJob, asking: Asking) => Promise<Sweep>;
}

/** The places of a sweep that sound alike path by path, so that one render does for all of them. */
interface Batch {
  readonly places: readonly number[];
  readonly session: Session;
}

const ledTo = (session: Session, { axis, second }: SweepQuestion, point: SweepPoint): Session => {
  const led = setBlend(session, axis.bus, point.blendDb);
  return second ? setBlend(led, second.bus, point.secondBlendDb!) : led;
};

/** A stretch of a sound, cut where the sound ends; null where it has ended before. */
const cutTo = (audio: Audio, { from, to }: Frames, end = framesOf(audio)): Audio | null => {
  const last = Math.min(to, end, framesOf(audio));
  return from < last ? excerptOf(audio, { from, to: last }) : null;
};

/** Goes through the rounds of one sweep. */
class SweepWalk {
  readonly ground: SweepGround;
  private readonly frames: Frames | null;
  /** Paths as the worker has them. */
  private known: RenderedPaths;
  private begun = false;

  constructor(
    private readonly question: SweepQuestion,
    private readonly studio: SweepStudio,
    private readonly asking: Asking,
  ) {
    const { axis, second, section } = question;
    this.ground = sweepGround(studio.session, [axis.bus, ...(second ? [second.bus] : [])]);
    stretchIn(section, studio.plan);
    // Blends that are rendered may sound longer.
    this.frames = framesIn(section, studio.plan.sampleRate);
    this.known = studio.paths;
  }

  /** Paths do not hang on the swept blends: one round answers all. */
  async atOnce(): Promise<Sweep> {
    const { session } = this.ground;
    const { plan } = this.studio.planOf(session);
    const isKnown = soundOf(plan) === soundOf(this.studio.plan);
    const paths = isKnown ? this.studio.paths : await this.render(session, askingFor(this.asking, 0, 0.5));
    return this.round(session, plan, paths, null, true, askingFor(this.asking, isKnown ? 0 : 0.5, 1));
  }

  /** Other paths hang on the swept blends: renders each, and has the worker measure what it is. */
  async oneByOne(): Promise<Sweep> {
    const { axis, second } = this.question;
    const points = sweepPoints(axis, second);
    const rows = new Array<SweepRow>(points.length);
    let done = 0;
    for (const { session, places } of this.batches(points)) {
      const from = done / points.length;
      const middle = (done + places.length / 2) / points.length;
      const paths = await this.render(session, askingFor(this.asking, from, middle));
      for (const [n, place] of places.entries()) {
        const point = points[place]!;
        const led = ledTo(this.ground.session, this.question, point);
        const { plan } = this.studio.planOf(led);
        const to = (done + places.length) / points.length;
        const step = (to - middle) / places.length;
        const asking = askingFor(this.asking, middle + n * step, middle + (n + 1) * step);
        const isLast = done + n + 1 === points.length;
        const { rows: found } = await this.round(led, plan, paths, [point], isLast, asking);
        rows[place] = found[0]!;
      }
      done += places.length;
    }
    return { rows, marks: null };
  }

  private batches(points: readonly SweepPoint[]): Batch[] {
    const batches = new Map<string, { places: number[]; session: Session }>();
    points.forEach((point, place) => {
      const session = ledTo(this.ground.session, this.question, point);
      const sound = soundOf(this.studio.planOf(session).plan);
      const batch = batches.get(sound) ?? { places: [], session };
      batch.places.push(place);
      batches.set(sound, batch);
    });
    return [...batches.values()];
  }

  /** Whether the stretch ends with the song or before: then no tail counts, and nothing is rendered behind it. */
  private endsWithin({ songFrames }: Plan): boolean {
    return this.frames !== null && this.frames.to <= songFrames;
  }

  /** What is rendered is not kept: strips of the mix in hand must not be pushed out by it. */
  private render(session: Session, asking: Asking): Promise<RenderedPaths> {
    const { planOf, render, strips } = this.studio;
    const { plan, sources } = planOf(session);
    const part = this.endsWithin(plan) ? planUntil(plan, this.frames!.to) : plan;
    const cache = stripsUntil(plan, part, strips);
    return render(part, sources, { cache, ...asking });
  }

  private async round(
    session: Session,
    planned: Plan,
    paths: RenderedPaths,
    points: readonly SweepPoint[] | null,
    isLast: boolean,
    asking: Asking,
  ): Promise<Sweep> {
    const { axis, second } = this.question;
    const { ask, plan: standing } = this.studio;
    const plan = this.endsWithin(planned) ? planned : settledPlan(planned, paths);
    const gains = [...gainsOf(plan)].map(([id, gain]): [string, number] => [
      id,
      points === null && this.ground.off.includes(id) ? 0 : gain,
    ]);
    const begin = this.begun ? null : { frames: this.frames, sounds: await this.stretchSounds() };
    const sounds = this.changed(paths);
    this.begun = true;
    this.known = paths;
    asking.signal?.throwIfAborted();
    const round: SweepRound = {
      ...{ axis, second, points, session, gains, mixBus: plan.mixBus, sounds },
      ...{ standingFrames: standing.soundFrames, soundFrames: plan.soundFrames },
    };
    return ask({ begin, round, isLast }, asking);
  }

  /** Copies of what the worker does not have; they move over and are gone here. */
  private changed(paths: RenderedPaths): SweepRound['sounds'] {
    return [...paths].flatMap(([id, audio]) => {
      if (isSameSound(audio, this.known.get(id))) return [];
      return [{ id, audio: copyOf(excerptOf(audio, this.frames)) }];
    });
  }

  /** What guards hold the section against; null for the whole song, which the worker knows. */
  private async stretchSounds(): Promise<StretchSounds | null> {
    const { frames, studio } = this;
    if (!frames) return null;
    const { paths, soundFrames } = await studio.received(this.asking.signal);
    const rough = studio.rough && cutTo(studio.rough, frames);
    const received = [...paths].flatMap(([id, audio]) => {
      const cut = cutTo(audio, frames, soundFrames);
      return cut ? [{ id, audio: copyOf(cut) }] : [];
    });
    return { rough: rough && copyOf(rough), received };
  }
}

/**
 * The sweep that is asked for. Where a swept bus feeds others from behind its blend, every blend is rendered here and measured
 * in the worker; else the worker answers at once. Rejects with one clear sentence, or with the signal's reason.
 */
export const sweepBy = async (question: SweepQuestion, studio: SweepStudio, asking: Asking = {}): Promise<Sweep> => {
  const walk = new SweepWalk(question, studio, asking);
  return walk.ground.rendersEach ? walk.oneByOne() : walk.atOnce();
};
