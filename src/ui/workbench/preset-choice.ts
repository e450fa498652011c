import { KIT, ROLES, rolesOf } from '../../session/roles.ts';
import type { Preset } from '../../session/presets/preset.ts';
import type { Session } from '../../session/schema.ts';
import { feedersOf, type PathRow } from '../bench/paths.ts';

/** What a preset can be written for. */
export type Suit = Preset['suits'][number];

const ofNames = (session: Session, ids: readonly string[]): Suit[] => {
  const { groups, tracks } = session;
  const named = [...groups, ...tracks.map(({ id, name }) => ({ id, name, vocal: false }))];
  const parts = named.filter(({ id }) => ids.includes(id)).flatMap((each) => rolesOf(each));
  return ROLES.filter((role) => parts.includes(role));
};

/** What plays on a path, by the words of its name; on a bus by what feeds it, directly or through other buses. Empty: they tell nothing. */
export const suitsOf = (session: Session, { kind, id }: PathRow): Suit[] => {
  if (kind === 'mix' || kind === 'rough') return [kind];
  if (kind !== 'bus') return ofNames(session, [id]);
  const seen = new Set<string>();
  const gather = (bus: string): void => {
    for (const feeder of feedersOf(session, bus)) {
      if (seen.has(feeder.id)) continue;
      seen.add(feeder.id);
      if (session.buses.some((each) => each.id === feeder.id)) gather(feeder.id);
    }
  };
  gather(id);
  return ofNames(session, [...seen]);
};

/** Whether a preset is written for one of these; what is for all suits everything but the whole mix, drums suit their parts. */
export const isFor = ({ suits }: Pick<Preset, 'suits'>, wanted: readonly Suit[]): boolean =>
  wanted.some(
    (want) =>
      suits.includes(want) ||
      (suits.includes('all') && want !== 'mix' && want !== 'rough') ||
      (suits.includes('drums') && KIT.some((part) => part === want)),
  );
