import { checkChain } from './check-chain.ts';
import { cyclesOf, edgesOf } from './graph.ts';
import { RESERVED_IDS } from './ids.ts';
import { described, listed, type Problem } from './problem.ts';
import { inReadingOrder, pathText, type Fault, type JsonPath } from './reading-order.ts';
import type { Session } from './schema.ts';

/** A track, group or bus as others name it. */
interface Member {
  readonly id: string;
  readonly kind: string;
  readonly path: JsonPath;
}

const membersOf = ({ tracks, groups, buses }: Session): Member[] => [
  ...tracks.map(({ id }, n) => ({ id, kind: 'a track', path: ['tracks', n] })),
  ...groups.map(({ id }, n) => ({ id, kind: 'a group', path: ['groups', n] })),
  ...buses.map(({ id }, n) => ({ id, kind: 'a bus', path: ['buses', n] })),
];

/** Tracks, groups and buses share one name space; what comes first keeps an id that is given twice. */
const idFaults = (members: readonly Member[]): Fault[] => {
  const first = new Map<string, Member>();
  return members.flatMap((member): Fault[] => {
    const { id, path } = member;
    const earlier = first.get(id);
    if (!earlier) first.set(id, member);
    if (!earlier && !RESERVED_IDS.includes(id)) return [];
    const reason = earlier ? `which ${pathText(earlier.path)} already has` : 'which has a meaning of its own';
    const found = `${described(id)}, ${reason}`;
    return [{ code: 'duplicate-id', path: [...path, 'id'], expected: 'an id of its own', found }];
  });
};

const TARGETS = { group: ['a group'], send: ['a bus'], key: ['a track', 'a group', 'a bus'] } as const;

/** What is wrong with naming `id` at `path` where a member of one of the `kinds` must be named. */
const targetFault = (members: readonly Member[], id: string, path: JsonPath, kinds: readonly string[]): Fault[] => {
  const named = members.filter((member) => member.id === id);
  if (named.some(({ kind }) => kinds.includes(kind))) return [];
  const there = members.filter(({ kind }) => kinds.includes(kind)).map((member) => member.id);
  const expected = `${kinds.join(' or ')} of this session (${there.length > 0 ? listed(there) : 'there is none yet'})`;
  const found = named[0] ? `${described(id)}, which is ${named[0].kind}` : described(id);
  return [{ code: 'missing-target', path, expected, found }];
};

const targetFaults = (session: Session, members: readonly Member[]): Fault[] =>
  edgesOf(session).flatMap(({ kind, from, to, path }) =>
    targetFault(members, kind === 'key' ? from : to, path, TARGETS[kind]),
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
  const members = membersOf(session);
  const ids = idFaults(members);
  return inReadingOrder(session, [
    ...ids,
    ...sectionFaults(session),
    ...targetFaults(session, members),
    ...sendFaults(session),
    ...(ids.length === 0 ? cycleFaults(session) : []), // an id that means two things closes cycles that are none
    ...chainFaults(session),
  ]);
};
