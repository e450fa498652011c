import { gainOf } from '../../audio/decibels.ts';
import { pathOrder } from '../../session/graph.ts';
import { CLOSED_DB, type Session } from '../../session/schema.ts';

/** Parts (0..1) of a path's sound that come from each group, by group id; they add up to 1, or are empty for a bus that nothing feeds. */
export type Origin = ReadonlyMap<string, number>;

const powerOf = (db: number): number => (db <= CLOSED_DB ? 0 : gainOf(db) ** 2);

/** Origins of groups alone: each comes from itself only. */
export const ownOrigins = (groups: readonly string[]): ReadonlyMap<string, Origin> =>
  new Map(groups.map((id) => [id, new Map([[id, 1]])]));

/**
 * Where each path's sound comes from. A group is its own; a bus is shared out over what feeds it in proportion to the
 * power that each sends (loudness of the path, its fader where the send is after it, the level of the send), through
 * other buses too. `loudness`: integrated loudness of each path alone at 0 dB, LUFS; null for none. A bus whose loudness
 * comes from one group is exactly that group's; for a bus with several feeds the split is an estimate, as chains are not linear.
 */
export const originsOf = (
  session: Session,
  loudness: ReadonlyMap<string, number | null>,
): ReadonlyMap<string, Origin> => {
  const power = (id: string): number => {
    const lufs = loudness.get(id) ?? null;
    return lufs === null ? 0 : 10 ** (lufs / 10);
  };
  const origins = new Map(ownOrigins(session.groups.map(({ id }) => id)));
  const senders = [
    ...session.groups.map(({ id, on, faderDb, sends }) => ({ id, on, faderDb, sends })),
    ...session.buses.map(({ id, on, blendDb, sends }) => ({ id, on, faderDb: blendDb, sends })),
  ];
  for (const bus of pathOrder(session)) {
    if (origins.has(bus)) continue;
    const sums = new Map<string, number>();
    for (const { id, on, faderDb, sends } of senders) {
      for (const { to, on: open, levelDb, tap } of sends) {
        if (to !== bus || !open || !on) continue;
        const sent = power(id) * powerOf(levelDb) * (tap === 'post-fader' ? powerOf(faderDb) : 1);
        for (const [group, part] of origins.get(id)!) sums.set(group, (sums.get(group) ?? 0) + part * sent);
      }
    }
    const whole = [...sums.values()].reduce((sum, part) => sum + part, 0);
    const parts = [...sums].map(([group, part]) => [group, part / whole] as const);
    origins.set(bus, new Map(whole > 0 ? parts : []));
  }
  return origins;
};

/** Share of each group in the loudness of a blend, with what its buses add: parts of 1, by group id; null in silence. */
export const groupSharesOf = (
  ids: readonly string[],
  shares: readonly (number | null)[],
  origins: ReadonlyMap<string, Origin>,
): ReadonlyMap<string, number> | null => {
  if (shares.some((share) => share === null)) return null;
  const groups = new Map<string, number>();
  ids.forEach((id, n) => {
    for (const [group, part] of origins.get(id) ?? []) groups.set(group, (groups.get(group) ?? 0) + part * shares[n]!);
  });
  return groups;
};

/** Groups whose share was less than this (-30 LU) are left out. */
const LEAST_SHARE = 1e-3;
/** Drift given to a group that is gone or cancelled by its buses, LU. */
const MOST_DRIFT = 60;

/** Change of a group's share of the loudness. */
export interface Drift {
  readonly group: string;
  /** LU; positive: its share of the mix is larger than before. */
  readonly lu: number;
}

/** Drift of every group above the least share, from the shares before and now. */
export const driftsOf = (before: ReadonlyMap<string, number>, now: ReadonlyMap<string, number>): Drift[] =>
  [...before].flatMap(([group, share]) => {
    if (share < LEAST_SHARE) return [];
    const ratio = (now.get(group) ?? 0) / share;
    const lu = ratio > 0 ? 10 * Math.log10(ratio) : -MOST_DRIFT;
    return [{ group, lu: Math.max(-MOST_DRIFT, Math.min(MOST_DRIFT, lu)) }];
  });
