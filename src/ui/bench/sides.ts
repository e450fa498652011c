import { leftOut, passIn } from '../../audition/heard.ts';
import { ROUGH_THROUGH } from '../../session/passes/rough-through.ts';
import type { Session } from '../../session/schema.ts';
import type { Heard } from '../../engine/engine.ts';
import { hueOf } from '../shared/hue.ts';

/** Something that can be compared, as the screen names it. */
export interface Side {
  readonly heard: Heard;
  readonly kind: 'given' | 'pass' | 'path';
  readonly name: string;
  /** Key that hears it. */
  readonly key: string | null;
  /** What to know of it. */
  readonly note: string;
  readonly hue: string | null;
}

const given = (heard: Heard, name: string, key: string, note: string): Side => ({
  heard,
  kind: 'given',
  name,
  key,
  note,
  hue: null,
});

const GIVEN: readonly Side[] = [
  given('rough', 'Rough', '1', 'The rough mix as received'),
  given('received', 'Received', '2', 'The tracks in the received balance: no chains, no buses'),
  given('mix', 'Mix', '3', 'The current mix, after the mix bus'),
];

/** Rendered as passes are; switching a processor of the mix bus tells what it does to the rough. */
const THROUGH = given(
  `pass:${ROUGH_THROUGH}`,
  'Rough through mix bus',
  '0',
  'The rough mix through its own chain and the mix bus as it stands: switch processors of the mix bus to hear each',
);

/** Passes that have a key of their own: 4 to 9. */
const FIRST_PASS_KEY = 4;

/** Everything that can be compared, in the order in which it is listed. */
export const sidesOf = (session: Session): Side[] => [
  ...GIVEN.filter(({ heard }) => heard !== 'rough' || session.rough !== null),
  ...(session.rough && session.mixBus.chain.length > 0 ? [THROUGH] : []),
  ...session.passes.map(({ id, name, note }, n): Side => {
    const key = n + FIRST_PASS_KEY;
    return { heard: `pass:${id}`, kind: 'pass', name, key: key <= 9 ? `${key}` : null, note, hue: null };
  }),
  ...[...session.groups, ...session.buses].map(({ id, name }): Side => ({
    heard: `without:${id}`,
    kind: 'path',
    name: `Without ${name}`,
    key: null,
    note: `The current mix without ${name}`,
    hue: hueOf(session, id),
  })),
];

export const hasSide = (session: Session, heard: Heard): boolean =>
  sidesOf(session).some((side) => side.heard === heard);

/** What a side is called, also one that a trial was held on and that is gone since. */
export const sideName = (session: Session, heard: Heard): string => {
  const side = [...GIVEN, THROUGH, ...sidesOf(session)].find((candidate) => candidate.heard === heard);
  if (side) return side.name;
  return passIn(heard) === null ? `Without ${leftOut(heard)} (gone)` : `Pass ${passIn(heard)} (gone)`;
};
