import { framesOf, type Sound } from '../audio/audio.ts';
import { decibelsOf } from '../audio/decibels.ts';
import type { Range } from '../audio/range.ts';
import { partOf } from '../audio/steps.ts';
import {
  buildOnceSteps,
  buildSteps,
  withPathsSteps,
  type GramQuery,
  type QueryPath,
} from '../blend/gram/make-blend-query.ts';
import { originsOf } from '../blend/guards/balance.ts';
import { laterPeakBoundsOf } from '../blend/peaks/peak-bounds.ts';
import { guardedFigures, receivedReferenceSteps, roughReferenceSteps } from '../blend/guards/guard-references.ts';
import type { Guarded, GuardReference } from '../blend/guards/guards.ts';
import { fitted } from '../blend/ledger/ledger.ts';
import { GuardedBlend, type SpacePath, type BlendSpace } from '../blend/solve/blend-space.ts';
import type { Details } from '../measure/details.ts';
import type { Measurement } from '../measure/figures.ts';
import { measureFullySteps } from '../measure/measure.ts';
import { printedSteps } from '../render/print.ts';
import { guardsInForce, guardSets, type GuardInForce } from '../session/guard-set.ts';
import type { Session } from '../session/schema.ts';
import { excerptOf, isSameSound, stretchIn, type Frames } from './excerpt.ts';
import { partOfJob, stepped, type Job } from './job.ts';
import type { Mix, Song } from './song.ts';

/** The blend space of a mix over a range. */
export interface MixSpace extends BlendSpace {
  readonly mix: Mix;
  /** null: the whole song. */
  readonly frames: Frames | null;
  readonly query: GramQuery;
}

/** The print of a mix over a range. */
export interface PrintedStretch {
  readonly figures: Measurement;
  readonly details: Details;
  /** The figures that guards read: the balance is that before the mix bus. */
  readonly guarded: Guarded;
}

/** Known measurements of the current mix, over the whole song. */
export interface KnownWhole {
  readonly query?: GramQuery;
  readonly references?: readonly GuardReference[];
  /** Its print. */
  readonly printed?: Pick<PrintedStretch, 'figures' | 'details'>;
}

const nameOf = (frames: Frames | null): string => (frames ? `${frames.from}-${frames.to}` : 'whole');

/** The frames of a range that lie within the first `end` frames of a sound; null where there are none. */
const within = (audio: Sound, frames: Frames | null, end = framesOf(audio)): Sound | null => {
  const { from, to } = { from: frames?.from ?? 0, to: Math.min(frames?.to ?? Infinity, end, framesOf(audio)) };
  return from < to ? excerptOf(audio, { from, to }) : null;
};

/** Paths of a mix over a range, until their last tail has died away. */
const pathsOver = ({ session, plan, paths }: Mix, frames: Frames | null): SpacePath[] => {
  const names = new Map([...session.groups, ...session.buses].map(({ id, name }) => [id, name]));
  const { from, to } = frames ?? { from: 0, to: plan.soundFrames };
  // With a blend closed the song may end before the end of the range, or before its start.
  const length = Math.max(1, Math.min(to, plan.soundFrames) - from);
  return plan.paths.map(({ id, kind }) => {
    const audio = fitted(excerptOf(paths.get(id)!, { from, to: from + length }), length);
    return { id, name: names.get(id)!, kind, audio };
  });
};

/** Parts of making a blend space that are done once the mix as received is rendered, and once all references are measured. */
const RECEIVED = 0.15;
const REFERENCES = 0.4;

/** A rendered session for answering questions: blend spaces of it and of similar mixes, and their references. */
export class Workshop {
  private readonly references = new Map<string, readonly GuardReference[]>();

  constructor(
    readonly song: Song,
    /** The current mix. */
    readonly mix: Mix,
    private readonly known: KnownWhole = {},
    readonly guards: readonly GuardInForce[] = guardsInForce(mix.session.guards, guardSets[0]!),
  ) {
    if (known.references) this.references.set(nameOf(null), known.references);
  }

  get session(): Session {
    return this.mix.session;
  }

  /** The frames of a section, cut at the end of the song; null: all of it. @throws Error when it begins after the end */
  stretch(section: Range | null): Frames | null {
    return stretchIn(section, this.mix.plan);
  }

  /** The blend space of the current mix. `mayFollow`: it keeps spectra, as blend spaces of similar mixes will be made from it. */
  space(frames: Frames | null, mayFollow = true): Job<MixSpace> {
    return this.spaceOf(this.mix, frames, null, mayFollow);
  }

  /** Frame up to which mixes must be rendered for the range; undefined: to their end, as the range reaches into their tails. */
  renderedUntil(frames: Frames | null): number | undefined {
    return frames && frames.to <= this.mix.plan.songFrames ? frames.to : undefined;
  }

  /**
   * The blend space of a mix: the current one, or the same with other blends. Paths that sound the same in `before`, a blend space over the
   * same range, are not measured again.
   */
  async *spaceOf(mix: Mix, frames: Frames | null, before: MixSpace | null = null, mayFollow = true): Job<MixSpace> {
    const references = yield* partOfJob(this.referencesOver(frames), 0, REFERENCES);
    const paths = pathsOver(mix, frames);
    const query = yield* stepped(this.querySteps(mix, paths, frames, before, mayFollow), REFERENCES, 1);
    const alone = (place: number): number[] => query.ids.map((_, n) => (n === place ? 1 : 0));
    const loudness = new Map(query.ids.map((id, n) => [id, query.essentials(alone(n)).integratedLufs]));
    const { trimGain, moving, steps } = mix.plan.mixBus;
    return {
      ...{ mix, frames, paths, query, references, guards: this.guards },
      gains: mix.plan.paths.map(({ gain }) => gain),
      trimDb: steps.length > 0 || moving ? null : decibelsOf(trimGain),
      origins: originsOf(mix.session, loudness),
    };
  }

  private *querySteps(
    mix: Mix,
    paths: readonly QueryPath[],
    frames: Frames | null,
    before: MixSpace | null,
    mayFollow: boolean,
  ): Generator<number, GramQuery> {
    const length = framesOf(paths[0]!.audio);
    const { query } = this.known;
    if (mix.paths === this.mix.paths && frames === null && query?.frames === length) return query;
    if (before?.query.frames !== length)
      return yield* mayFollow ? buildSteps(paths) : buildOnceSteps(paths, undefined, laterPeakBoundsOf);
    const changes = paths.flatMap(({ audio }, n) =>
      isSameSound(audio, before.paths[n]!.audio) ? [] : [[n, audio] as const],
    );
    return changes.length === 0 ? before.query : yield* withPathsSteps(before.query, new Map(changes));
  }

  /** References of blends over a range: the rough and the mix as received, as far as they sound there. */
  async *referencesOver(frames: Frames | null): Job<readonly GuardReference[]> {
    const name = nameOf(frames);
    const known = this.references.get(name);
    if (known) return known;
    const rough = this.song.roughOf(this.session);
    const cut = rough && within(rough, frames);
    const { plan, paths } = yield* partOfJob(this.song.received(this.session), 0, RECEIVED / REFERENCES);
    const groups = [...paths].flatMap(([id, audio]) => {
      const stretch = within(audio, frames, plan.soundFrames);
      return stretch ? [{ id, audio: stretch }] : [];
    });
    const made = [
      ...(cut ? [yield* stepped(roughReferenceSteps(cut), RECEIVED / REFERENCES, 0.6)] : []),
      ...(groups.length > 0 ? [yield* stepped(receivedReferenceSteps(groups), 0.6, 1)] : []),
    ];
    this.references.set(name, made);
    return made;
  }

  /** The print of a blend space's mix, measured over its range; each step yields the part done, 0..1. */
  *printedSteps(space: MixSpace): Generator<number, PrintedStretch> {
    const { mix, frames } = space;
    const { printed } = this.known;
    if (printed && mix === this.mix && frames === null) return { ...printed, guarded: this.guarded(space, printed) };
    const print = yield* partOf(printedSteps(mix.plan, mix.paths, this.song.room), 0, 0.4);
    const { figures, details } = yield* partOf(measureFullySteps(excerptOf(print, frames)), 0.4, 1);
    return { figures, details, guarded: this.guarded(space, { figures, details }) };
  }

  /** The figures that guards read of a print of a blend space's mix, measured elsewhere. */
  guarded(space: BlendSpace, { figures, details }: Pick<PrintedStretch, 'figures' | 'details'>): Guarded {
    return guardedFigures(figures, details, new GuardedBlend(space, space.gains).groupShares);
  }
}
