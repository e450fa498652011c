import type { GainMatrix } from '../../dsp/core/gain-matrix.ts';
import { loudestGain } from '../../dsp/core/moving-gains.ts';
import type { StripInput } from '../../dsp/core/strip.ts';
import { sourceOf, type Plan, type PlanStrip } from './plan.ts';

/** A source, group or bus of a plan, and what feeds it, each with its linear gain. */
export interface FlowPlace {
  readonly id: string;
  readonly kind: 'source' | 'group' | 'bus';
  readonly feeds: readonly { readonly from: string; readonly gain: number }[];
}

/** The one gain that lets as much energy through as the matrix does, both channels being alike in level. */
const gainOfMatrix = ({ leftToLeft, leftToRight, rightToLeft, rightToRight }: GainMatrix): number =>
  Math.sqrt((leftToLeft ** 2 + leftToRight ** 2 + rightToLeft ** 2 + rightToRight ** 2) / 2);

/** The gain of an input; of one that lines move, where they are loudest. */
const gainOfInput = ({ gains, moving }: StripInput): number => gainOfMatrix(gains) * (moving ? loudestGain(moving) : 1);

/**
 * The nodes of the signal flow of a plan, each after all that feed it. A track counts with its sound before its own
 * chain, at its gain; as does the rough where it feeds a bus.
 */
export const flowPlaces = ({ sources, strips, paths }: Plan): FlowPlace[] => {
  const kinds = new Map(paths.map(({ id, kind }) => [id, kind]));
  const trackStrips = new Map(strips.filter(({ id }) => !kinds.has(id)).map((strip) => [strip.id, strip]));
  const trackGain = (id: string): number => {
    const [input] = trackStrips.get(id)?.spec.inputs ?? [];
    return input ? gainOfInput(input) : 1;
  };
  const feedsOf = ({ spec, from }: PlanStrip): FlowPlace['feeds'] =>
    spec.inputs.map((input, n) => {
      const { id } = from[n]!;
      return { from: kinds.has(id) ? id : sourceOf(id), gain: gainOfInput(input) * trackGain(id) };
    });
  return [
    ...sources.map(({ id }): FlowPlace => ({ id, kind: 'source', feeds: [] })),
    ...strips.flatMap((strip): FlowPlace[] => {
      const kind = kinds.get(strip.id);
      return kind ? [{ id: strip.id, kind, feeds: feedsOf(strip) }] : [];
    }),
  ];
};
