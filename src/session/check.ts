import { checkChain } from './chain/check-chain.ts';
import { cyclesOf, edgesOf, type Mix } from './graph.ts';
import { RESERVED_IDS } from './ids.ts';
import { lineFaults } from './lines/check-lines.ts';
import { described, listed, type Problem } from './problem.ts';
import { inReadingOrder, pathText, type Fault, type JsonPath } from './read/reading-order.ts';
import type { Send, Session } from './schema.ts';

/** A track, group or bus as others name it. */
interface Member {
  readonly id: string;
  readonly kind: string;
  readonly path: JsonPath;
}

const membersOf = ({ tracks, groups, buses }: Mix): Member[] => [
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

const targetFaults = (mix: Mix, members: readonly Member[]): Fault[] =>
  edgesOf(mix).flatMap(({ kind, from, to, path }) =>
    targetFault(members, kind === 'key' ? from : to, path, TARGETS[kind]),
  );

const cycleFaults = (mix: Mix): Fault[] =>
  cyclesOf(edgesOf(mix)).map(({ edge, round }) => ({
    code: 'cycle',
    path: edge.path,
    expected: 'sends and keys that only lead onward',
    found: round.join(' -> '),
  }));

const doubleSends = (sends: readonly Send[], path: JsonPath): Fault[] =>
  sends.flatMap(({ to }, s): Fault[] => {
    const first = sends.findIndex((send) => send.to === to);
    if (first === s) return [];
    const found = `${described(to)}, which ${pathText([...path, 'sends', first])} already feeds`;
    return [{ code: 'duplicate-id', path: [...path, 'sends', s, 'to'], expected: 'a bus not fed yet', found }];
  });

/** Faults: two sends from one place to the same bus. */
const sendFaults = (mix: Mix): Fault[] => [
  ...doubleSends(mix.rough?.sends ?? [], ['rough']),
  ...(['tracks', 'groups', 'buses'] as const).flatMap((list) =>
    mix[list].flatMap(({ sends }, n) => doubleSends(sends, [list, n])),
  ),
];

const chainFaults = ({ rough, tracks, groups, buses, mixBus }: Mix): Fault[] => [
  ...checkChain(rough?.chain ?? [], ['rough', 'chain']),
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

/** Changes of tempo and meter that do not come after one another. */
const songChangeFaults = ({ tempoChanges, meterChanges }: Session): Fault[] =>
  Object.entries({ tempoChanges, meterChanges }).flatMap(([list, changes]) =>
    changes.flatMap(({ bar }, n): Fault[] => {
      const before = changes[n - 1]?.bar ?? 1;
      if (bar > before) return [];
      const expected = n === 0 ? 'after the start of the song, bar 1' : `after the change before it, at bar ${before}`;
      return [{ code: 'out-of-range', path: [list, n, 'bar'], expected, found: String(bar) }];
    }),
  );

/** What is wrong with a mix: that of the session, or of a pass. */
const mixFaults = (mix: Mix, sampleRate: number): Fault[] => {
  const members = membersOf(mix);
  const ids = idFaults(members);
  const chains = chainFaults(mix);
  return [
    ...ids,
    ...targetFaults(mix, members),
    ...sendFaults(mix),
    ...(ids.length === 0 ? cycleFaults(mix) : []), // an id that means two things closes cycles that are none
    ...chains,
    // What a line may do is told by the chains.
    ...(chains.length === 0 ? lineFaults(mix, sampleRate) : []),
  ];
};

/** Ids that are given twice in a list whose members nothing else names. */
const listIdFaults = (list: string, members: readonly { readonly id: string }[]): Fault[] =>
  members.flatMap(({ id }, n): Fault[] => {
    const first = members.findIndex((member) => member.id === id);
    if (first === n) return [];
    const found = `${described(id)}, which ${pathText([list, first])} already has`;
    return [{ code: 'duplicate-id', path: [list, n, 'id'], expected: 'an id of its own', found }];
  });

/** Each pass must hold together by itself: what it names must be in it, not in the current mix. */
const passFaults = ({ passes, sampleRate }: Session): Fault[] => [
  ...listIdFaults('passes', passes),
  ...passes.flatMap((pass, n) =>
    mixFaults(pass, sampleRate).map((fault) => ({ ...fault, path: ['passes', n, ...fault.path] })),
  ),
];

/** The received balance names each track once, and only tracks of the mix or of a pass. */
const receivedFaults = ({ receivedBalance, tracks, passes }: Session): Fault[] => {
  const there = new Set([...tracks, ...passes.flatMap((pass) => pass.tracks)].map(({ id }) => id));
  return receivedBalance.flatMap(({ track }, n): Fault[] => {
    const path = ['receivedBalance', n, 'track'];
    const first = receivedBalance.findIndex((each) => each.track === track);
    const found = described(track);
    if (first !== n) {
      const twice = `${found}, which ${pathText(['receivedBalance', first])} already names`;
      return [{ code: 'duplicate-id', path, expected: 'a track not named yet', found: twice }];
    }
    if (there.has(track)) return [];
    const expected = `a track of this session (${there.size > 0 ? listed([...there]) : 'there is none yet'})`;
    return [{ code: 'missing-target', path, expected, found }];
  });
};

const ANSWERS = { abx: ['right', 'wrong'], preference: ['a', 'b'] } as const;

/** No trial has more answers than were planned, nor answers of the other kind. */
const trialFaults = ({ trials }: Session): Fault[] => [
  ...listIdFaults('trials', trials),
  ...trials.flatMap(({ kind, planned, answers }, n): Fault[] => {
    const path = ['trials', n, 'answers'];
    const allowed: readonly string[] = ANSWERS[kind];
    const strange = answers.findIndex((answer) => !allowed.includes(answer));
    const expected = `at most as many answers as were planned (${planned})`;
    return [
      ...(answers.length > planned
        ? [{ code: 'out-of-range' as const, path, expected, found: `${answers.length}` }]
        : []),
      ...(strange >= 0
        ? [
            {
              code: 'unknown-name' as const,
              path: [...path, strange],
              expected: listed(allowed),
              found: described(answers[strange]),
            },
          ]
        : []),
    ];
  }),
];

/** A client note that ends begins somewhere before. */
const clientNoteFaults = ({ clientNotes }: Session): Fault[] => [
  ...listIdFaults('clientNotes', clientNotes),
  ...clientNotes.flatMap(({ startSeconds, endSeconds }, n): Fault[] => {
    if (endSeconds === null || (startSeconds !== null && endSeconds > startSeconds)) return [];
    const expected = startSeconds === null ? 'null, as the note has no start' : `later than its start, ${startSeconds}`;
    return [{ code: 'out-of-range', path: ['clientNotes', n, 'endSeconds'], expected, found: String(endSeconds) }];
  }),
];

/** What is wrong with a session of the right shape: what the shape cannot say, in reading order. */
export const checkSession = (session: Session): Problem[] =>
  inReadingOrder(session, [
    ...songChangeFaults(session),
    ...sectionFaults(session),
    ...receivedFaults(session),
    ...mixFaults(session, session.sampleRate),
    ...passFaults(session),
    ...trialFaults(session),
    ...clientNoteFaults(session),
  ]);
