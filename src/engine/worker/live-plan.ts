import type { ChainStep } from '../../dsp/core/chain.ts';
import type { MovingLevel } from '../../dsp/core/moving-gains.ts';
import type { StripSpec } from '../../dsp/core/strip.ts';
import { textOf } from '../../render/content-hash.ts';
import type { NodeRef, Plan, PlanStrip } from '../../render/plan/plan.ts';
import { endless, memorySeconds } from '../../render/section.ts';

/** A feed of a live strip: another live strip by its index, rendered sound, or a track. */
export type FeedOf = { readonly strip: number } | { readonly ref: NodeRef; readonly latency: number };

/** Strips of a plan that run live, in the plan's order. */
export interface LivePlan {
  readonly strips: readonly {
    readonly id: string;
    readonly spec: StripSpec;
    readonly from: readonly FeedOf[];
    readonly latency: number;
    readonly key: string;
    /** Lines of the path's level. */
    readonly moving?: MovingLevel;
  }[];
  /** Frames by which the strips run ahead of the paths, so that the one with the most latency is in time. */
  readonly ahead: number;
  /** Seconds of earlier sound that influence their output, by their tails. */
  readonly memorySeconds: number;
  /** Identifies everything except the settings of processors: for another shape new strips are started. */
  readonly shape: string;
}

/** The strip of this id and all strips that it feeds, in the plan's order. */
const fedBy = (plan: Plan, id: string): readonly PlanStrip[] => {
  const names = new Set([id]);
  return plan.strips.filter(({ id: own, from }) => {
    const isFed = own === id || from.some((ref) => ref.kind === 'strip' && names.has(ref.id));
    if (isFed) names.add(own);
    return isFed;
  });
};

/** The strips that run live while `touched` is edited: itself, and all that it feeds. null: the plan has no such strip. */
export const livePlanOf = (plan: Plan, touched: string): LivePlan | null => {
  const strips = fedBy(plan, touched);
  if (strips.length === 0) return null;
  const known = new Map(plan.strips.map((strip) => [strip.id, strip]));
  const moves = new Map(plan.paths.map(({ id, moving }) => [id, moving]));
  const places = new Map(strips.map(({ id }, place) => [id, place]));
  const feedOf = (ref: NodeRef): FeedOf => {
    const strip = ref.kind === 'strip' ? places.get(ref.id) : undefined;
    if (strip !== undefined) return { strip };
    return { ref, latency: ref.kind === 'strip' ? known.get(ref.id)!.latency : 0 };
  };
  const keyOf = (ref: NodeRef): unknown => {
    if (ref.kind === 'source') return plan.sources.find(({ id }) => id === ref.id);
    return places.has(ref.id) ? '' : known.get(ref.id)!.key;
  };
  const shapes = strips.map(({ id, latency, from, spec: { inputs, keyInputs } }) => ({
    ...{ id, latency, from, inputs, keyInputs, keys: from.map(keyOf), moving: moves.get(id) },
  }));
  return {
    strips: strips.map(({ id, spec, from, latency, key }) => {
      const moving = moves.get(id);
      return { ...{ id, spec: endless(spec), from: from.map(feedOf), latency, key }, ...(moving && { moving }) };
    }),
    ahead: Math.max(...strips.map(({ latency }) => latency)),
    memorySeconds: memorySeconds(plan, strips),
    shape: textOf([plan.sampleRate, shapes]),
  };
};

/** Strips whose settings differ: their indices, and their new steps. */
export const movesBetween = (
  from: LivePlan,
  to: LivePlan,
): readonly (readonly [strip: number, steps: readonly ChainStep[]])[] =>
  to.strips.flatMap(({ spec: { steps } }, n) =>
    // Plans reuse the steps of a chain that an edit did not change.
    steps === from.strips[n]!.spec.steps ? [] : [[n, steps] as const],
  );
