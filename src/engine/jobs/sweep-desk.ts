import type { BlendBench } from '../../blend/solve/blend-bench.ts';
import { receivedReferenceSteps, roughReference } from '../../blend/guards/guard-references.ts';
import type { GuardReference } from '../../blend/guards/guards.ts';
import { buildSteps, withPathsSteps, type GramQuery, type QueryPath } from '../../blend/gram/make-blend-query.ts';
import { fitted } from '../../blend/ledger/ledger.ts';
import {
  sweepFigures,
  sweepRowSteps,
  sweepSteps,
  type Sweep,
  type SweepFigures,
  type SweepRow,
} from '../../blend/sweep/sweep.ts';
import { framesOf, type Audio } from '../../audio/audio.ts';
import { partOf } from '../../audio/steps.ts';
import { benchFrom, benchOf, referencesOf, type Desk } from './blend-desk.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import type { SweepBeginning, SweepRound, StretchSounds } from './sweep-job.ts';

/** Parts of a round that are done once the mix as it stands is measured, and once its own paths are. */
const STANDING = 0.2;
const BENCH = 0.4;

function* stretchReferenceSteps({ rough, received }: StretchSounds): Generator<number, GuardReference[]> {
  const references = rough ? [roughReference(rough)] : [];
  return received.length > 0 ? [...references, yield* receivedReferenceSteps(received)] : references;
}

/** The bench of one sweep: the stretch that it is of, as its paths sound from round to round. */
export class SweepDesk {
  /** Every path over the stretch; over the whole song they may be longer. */
  private readonly sounds: Map<string, Audio>;
  private readonly frames: Frames | null;
  private readonly heldAgainst: StretchSounds | null;
  private query: GramQuery | null;
  private references: readonly GuardReference[] = [];
  private reference: SweepFigures | null = null;

  /** `desk`: the mix as it stands; `whole`: its paths to their very end. */
  constructor(
    readonly desk: Desk,
    whole: ReadonlyMap<string, Audio>,
    { frames, sounds }: SweepBeginning,
  ) {
    this.frames = frames;
    this.heldAgainst = sounds;
    this.sounds = new Map([...whole].map(([id, audio]) => [id, excerptOf(audio, frames)]));
    this.query = frames ? null : desk.basis.query;
  }

  /** The part of a sweep that one render answers; each step yields the part done, 0..1, `onRow` is told of each row. */
  *steps(round: SweepRound, onRow: (row: SweepRow) => void): Generator<number, Sweep> {
    const reference = (this.reference ??= yield* partOf(this.standing(round.standingFrames), 0, STANDING));
    for (const { id, audio } of round.sounds) this.sounds.set(id, audio);
    const bench = yield* partOf(this.bench(round), STANDING, BENCH);
    const { axis, second, points } = round;
    if (points === null) return yield* partOf(sweepSteps(bench, axis, reference, second, onRow), BENCH, 1);
    const rows = yield* partOf(sweepRowSteps(bench, points, axis, reference, second, onRow), BENCH, 1);
    return { rows, marks: null };
  }

  /** The mix as it stands, over the stretch. */
  private *standing(soundFrames: number): Generator<number, SweepFigures> {
    const { desk, heldAgainst } = this;
    if (heldAgainst === null) {
      this.references = referencesOf(desk.references);
      return sweepFigures(benchOf(desk), desk.gains);
    }
    this.references = yield* partOf(stretchReferenceSteps(heldAgainst), 0, 0.5);
    const { session, gains, mixBus } = desk;
    const inputs = this.inputs(soundFrames);
    this.query = yield* partOf(buildSteps(inputs), 0.5, 1);
    return sweepFigures(
      benchFrom({ session, inputs, query: this.query, gains, mixBus, references: this.references }),
      gains,
    );
  }

  private *bench({ session, gains, mixBus, soundFrames, sounds }: SweepRound): Generator<number, BlendBench> {
    const inputs = this.inputs(soundFrames);
    const query = yield* this.querySteps(inputs, new Set(sounds.map(({ id }) => id)));
    this.query = query;
    const byId = new Map(gains);
    const ordered = inputs.map(({ id }) => byId.get(id) ?? 0);
    return benchFrom({ session, inputs, query, gains: ordered, mixBus, references: this.references });
  }

  private *querySteps(inputs: readonly QueryPath[], changed: ReadonlySet<string>): Generator<number, GramQuery> {
    const { query } = this;
    if (query?.frames !== framesOf(inputs[0]!.audio)) return yield* buildSteps(inputs);
    if (changed.size === 0) return query;
    const changes = inputs.flatMap(({ id, audio }, n) => (changed.has(id) ? [[n, audio] as const] : []));
    return yield* withPathsSteps(query, new Map(changes));
  }

  /** The paths over the stretch, until their last tail has died away. */
  private inputs(soundFrames: number): QueryPath[] {
    const { from, to } = this.frames ?? { from: 0, to: soundFrames };
    const frames = Math.min(to, soundFrames) - from;
    return this.desk.basis.inputs.map(({ id }) => ({ id, audio: fitted(this.sounds.get(id)!, frames) }));
  }
}
