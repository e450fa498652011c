/** A source, group or bus, with the energy of its output, its feeds and its own share in the mix. */
export interface FlowNode {
  readonly id: string;
  readonly kind: 'source' | 'group' | 'bus';
  /** K-weighted energy of its output, before its fader or blend. */
  readonly energy: number;
  /** What feeds it, each with its linear gain; empty for a source. */
  readonly feeds: readonly { readonly from: string; readonly gain: number }[];
  /** Its share of the mix's loudness (share.ts): 0 for a source, which does not reach the mix directly. */
  readonly share: number;
}

/** Part of the loudness that flows from one node to the next; `to` is null if that is the mix. */
interface FlowLink {
  readonly from: string;
  readonly to: string | null;
  /** Part of the mix's loudness; below 0 where what flows here cancels the rest. */
  readonly share: number;
}

export interface Flow {
  /** In the order given, each with all loudness that passes through it: its own share and what it feeds to buses. */
  readonly nodes: readonly { readonly id: string; readonly kind: FlowNode['kind']; readonly share: number }[];
  readonly links: readonly FlowLink[];
}

/**
 * Where the mix's loudness comes from. The output of a group or bus, to the mix and to buses, is attributed to its feeds
 * in proportion to the energy of each (gain squared times the energy of its sound): fed equally by two, half to each.
 * So the links into the mix add up to 1, and so do those out of the sources, as long as every path that
 * sounds is fed. `nodes` come in the order in which sound flows: each after all that feed it.
 */
export const flowOf = (nodes: readonly FlowNode[]): Flow => {
  const energies = new Map(nodes.map(({ id, energy }) => [id, energy]));
  const passing = new Map(nodes.map(({ id, share }) => [id, share]));
  const links: FlowLink[] = [];
  for (const { id, kind, share, feeds } of [...nodes].reverse()) {
    if (kind !== 'source') links.push({ from: id, to: null, share });
    const parts = feeds.map(({ from, gain }) => gain * gain * (energies.get(from) ?? 0));
    const whole = parts.reduce((sum, part) => sum + part, 0);
    feeds.forEach(({ from }, n) => {
      const handed = whole > 0 ? (passing.get(id)! * parts[n]!) / whole : 0;
      links.push({ from, to: id, share: handed });
      passing.set(from, (passing.get(from) ?? 0) + handed);
    });
  }
  return {
    nodes: nodes.map(({ id, kind }) => ({ id, kind, share: passing.get(id)! })),
    links: links.reverse(),
  };
};

/** The flow of nodes, each with its feeds, from the energy of each node's sound and the share of each path. */
export const flowOver = (
  places: readonly Pick<FlowNode, 'id' | 'kind' | 'feeds'>[],
  energies: ReadonlyMap<string, number>,
  shares: ReadonlyMap<string, number>,
): Flow =>
  flowOf(
    places.map((place) => ({
      ...place,
      energy: energies.get(place.id) ?? 0,
      share: place.kind === 'source' ? 0 : (shares.get(place.id) ?? 0),
    })),
  );
