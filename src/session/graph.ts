import type { JsonPath } from './read/reading-order.ts';
import type { Bus, Group, RoughSource, Session, Track } from './schema.ts';

/** What a session says of its mix, beside song and files; a pass says the same. */
export type Mix = Pick<Session, 'tracks' | 'groups' | 'buses' | 'mixBus' | 'lines'> & {
  readonly rough: RoughSource | null;
};

/** Id of the rough where it is a source: no track, group or bus can have it. */
export const ROUGH = 'rough';

/** What a group or bus is called, by its id. */
export const pathNames = ({ groups, buses }: Mix): ((id: string) => string) => {
  const names = new Map([...groups, ...buses].map(({ id, name }) => [id, name]));
  return (id) => names.get(id) ?? id;
};

/** Sound that goes from one place to another: a track into its group, a send into its bus, a key into its listener. */
export interface Edge {
  readonly from: string;
  readonly to: string;
  readonly kind: 'group' | 'send' | 'key';
  /** Where the session says so: buses, 2, sends, 0, to. */
  readonly path: JsonPath;
}

/** All edges of a mix, in reading order; those that are switched off too, as they can be switched on. */
export const edgesOf = ({ rough, tracks, groups, buses }: Mix): Edge[] => {
  const sendsFrom = (id: string, sends: Track['sends'], path: JsonPath): Edge[] =>
    sends.map(({ to }, s) => ({ from: id, to, kind: 'send', path: [...path, 'sends', s, 'to'] }));
  const members = (list: string, all: readonly (Track | Group | Bus)[]): Edge[] =>
    all.flatMap(({ id, key, sends }, n): Edge[] => [
      ...(key === null ? [] : [{ from: key, to: id, kind: 'key' as const, path: [list, n, 'key'] }]),
      ...sendsFrom(id, sends, [list, n]),
    ]);
  const intoGroups = tracks.map(({ id, group }, n): Edge => {
    return { from: id, to: group, kind: 'group', path: ['tracks', n, 'group'] };
  });
  return [
    ...sendsFrom(ROUGH, rough?.sends ?? [], ['rough']),
    ...intoGroups,
    ...members('tracks', tracks),
    ...members('groups', groups),
    ...members('buses', buses),
  ];
};

const neighbours = (edges: readonly Edge[], of: 'from' | 'to'): Map<string, Edge[]> => {
  const map = new Map<string, Edge[]>();
  for (const edge of edges) {
    const list = map.get(edge[of]);
    if (list) list.push(edge);
    else map.set(edge[of], [edge]);
  }
  return map;
};

/** A cycle of edges. */
export interface Cycle {
  /** The edge that closes it. */
  readonly edge: Edge;
  /** Ids in the order of the sound, the first again at the end. */
  readonly round: readonly string[];
}

/** Cycles of `edges`, each found once, from the first place on; empty when sound only ever goes forward. */
export const cyclesOf = (edges: readonly Edge[]): Cycle[] => {
  const outgoing = neighbours(edges, 'from');
  const cycles: Cycle[] = [];
  const done = new Set<string>();
  const way: string[] = [];
  const visit = (id: string): void => {
    way.push(id);
    for (const edge of outgoing.get(id) ?? []) {
      const seen = way.indexOf(edge.to);
      if (seen >= 0) cycles.push({ edge, round: [...way.slice(seen), edge.to] });
      else if (!done.has(edge.to)) visit(edge.to);
    }
    way.pop();
    done.add(id);
  };
  for (const id of outgoing.keys()) if (!done.has(id)) visit(id);
  return cycles;
};

/** The first cycle of a session as ids in the order in which sound flows, the first again at the end; null: none. */
export const cycleOf = (session: Session): readonly string[] | null => cyclesOf(edgesOf(session))[0]?.round ?? null;

/** Ids of all that the sound of `id` reaches, as sound or as key: groups, buses, and tracks with a key input. */
export const downstreamOf = (session: Session, id: string): Set<string> => {
  const edges = neighbours(edgesOf(session), 'from');
  const reached = new Set<string>();
  const visit = (at: string): void => {
    for (const { to: next } of edges.get(at) ?? []) {
      if (reached.has(next)) continue;
      reached.add(next);
      visit(next);
    }
  };
  visit(id);
  return reached;
};

/**
 * All groups and buses, each after everything that feeds or keys it; otherwise in the session's order.
 * Throws RangeError when there is a cycle: sessions are checked before.
 */
export const pathOrder = (session: Session): readonly string[] => {
  const cycle = cycleOf(session);
  if (cycle) throw new RangeError(`sends run in a circle: ${cycle.join(' -> ')}`);
  const incoming = neighbours(edgesOf(session), 'to');
  const ids = [...session.groups, ...session.buses].map(({ id }) => id);
  const seen = new Set<string>();
  const ordered: string[] = [];
  const visit = (id: string): void => {
    if (seen.has(id)) return;
    seen.add(id);
    for (const { from } of incoming.get(id) ?? []) visit(from);
    ordered.push(id);
  };
  ids.forEach(visit);
  const paths = new Set(ids);
  return ordered.filter((id) => paths.has(id));
};
