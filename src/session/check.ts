import { checkChain } from './check-chain.ts';
import { cyclesOf, edgesOf } from './graph.ts';
import { RESERVED_IDS } from './ids.ts';
import { described, listed, type Problem } from './problem.ts';
import { inReadingOrder, pathText, type Fault, type JsonPath } from './reading-order.ts';
import type { Session } from './schema.ts';

/** Tracks, groups and buses by id; what comes first keeps an id that is given twice. */
class Members {
  private readonly byId = new Map<string, { readonly kind: string; readonly path: JsonPath }>();
  readonly faults: Fault[] = [];

  constructor({ tracks, groups, buses }: Session) {
    tracks.forEach(({ id }, n) => this.add(id, 'a track', ['tracks', n]));
    groups.forEach(({ id }, n) => this.add(id, 'a group', ['groups', n]));
    buses.forEach(({ id }, n) => this.add(id, 'a bus', ['buses', n]));
  }

  private add(id: string, kind: string, path: JsonPath): void {
    const first = this.byId.get(id);
    const reserved = RESERVED_IDS.includes(id) ? 'which has a meaning of its own' : null;
    const reason = reserved ?? (first && `which ${pathText(first.path)} already has`);
    if (!first) this.byId.set(id, { kind, path });
    if (!reason) return;
    const found = `${described(id)}, ${reason}`;
    this.faults.push({ code: 'duplicate-id', path: [...path, 'id'], expected: 'an id of its own', found });
  }

  /** What is wrong with naming `id` at `path` where something of one of the `kinds` must be named. */
  target(id: string, path: JsonPath, kinds: readonly string[]): Fault | null {
    const target = this.byId.get(id);
    if (target && kinds.includes(target.kind)) return null;
    const there = [...this.byId].filter(([, { kind }]) => kinds.includes(kind)).map(([name]) => name);
    const expected = `${kinds.join(' or ')} of this session (${there.length > 0 ? listed(there) : 'there is none yet'})`;
    const found = target ? `${described(id)}, which is ${target.kind}` : described(id);
    return { code: 'missing-target', path, expected, found };
  }
}

const TARGETS = { group: ['a group'], send: ['a bus'], key: ['a track', 'a group', 'a bus'] } as const;

const targetFaults = (session: Session, members: Members): Fault[] =>
  edgesOf(session).flatMap(
    ({ kind, from, to, path }) => members.target(kind === 'key' ? from : to, path, TARGETS[kind]) ?? [],
  );

const cycleFaults = (session: Session): Fault[] =>
  cyclesOf(edgesOf(session)).map(({ edge, round }) => ({
    code: 'cycle',
    path: edge.path,
    expected: 'sends and keys that only lead onward',
    found: round.join(' -> '),
  }));

/** Two sends from one path to one bus could not be told apart. */
const sendFaults = (session: Session): Fault[] =>
  (['groups', 'buses'] as const).flatMap((list) =>
    session[list].flatMap(({ sends }, n) =>
      sends.flatMap(({ to }, s): Fault[] => {
        const first = sends.findIndex((send) => send.to === to);
        if (first === s) return [];
        const found = `${described(to)}, which ${pathText([list, n, 'sends', first])} already feeds`;
        return [{ code: 'duplicate-id', path: [list, n, 'sends', s, 'to'], expected: 'a bus not fed yet', found }];
      }),
    ),
  );

const chainFaults = ({ tracks, groups, buses, mixBus }: Session): Fault[] => [
  ...Object.entries({ tracks, groups, buses }).flatMap(([list, members]) =>
    members.flatMap(({ chain }, n) => checkChain(chain, [list, n, 'chain'])),
  ),
  ...checkChain(mixBus.chain, ['mixBus', 'chain']),
];

const sectionFaults = ({ sections }: Session): Fault[] =>
  sections.flatMap(({ startSeconds, endSeconds }, n): Fault[] => {
    if (endSeconds > startSeconds) return [];
    const expected = `later than its start, ${startSeconds}`;
    return [{ code: 'out-of-range', path: ['sections', n, 'endSeconds'], expected, found: String(endSeconds) }];
  });

/** What is wrong with a session of the right shape: what the shape cannot say, in reading order. */
export const checkSession = (session: Session): Problem[] => {
  const members = new Members(session);
  return inReadingOrder(session, [
    ...members.faults,
    ...sectionFaults(session),
    ...targetFaults(session, members),
    ...sendFaults(session),
    ...cycleFaults(session),
    ...chainFaults(session),
  ]);
};
