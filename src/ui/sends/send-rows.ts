import { downstreamOf, ROUGH } from '../../session/graph.ts';
import type { Send, Session } from '../../session/schema.ts';
import { hueOf } from '../shared/hue.ts';

/** A row of the send matrix: the sender, and its sends by bus. */
export interface SendRow {
  readonly id: string;
  readonly name: string;
  readonly kind: 'group' | 'track' | 'bus' | 'rough';
  readonly hue: string;
  readonly sends: ReadonlyMap<string, Send>;
}

const byBus = (sends: readonly Send[]): ReadonlyMap<string, Send> => new Map(sends.map((send) => [send.to, send]));

/** Groups, with their tracks below each if these are wanted, then buses, then the rough. */
export const sendRows = (session: Session, withTracks: boolean): SendRow[] => {
  const { groups, tracks, buses, rough } = session;
  return [
    ...groups.flatMap(({ id, name, sends }): SendRow[] => {
      const hue = hueOf(session, id);
      const own = withTracks ? tracks.filter(({ group }) => group === id) : [];
      return [
        { id, name, kind: 'group', hue, sends: byBus(sends) },
        ...own.map((track): SendRow => ({
          ...{ id: track.id, name: track.name, kind: 'track', hue, sends: byBus(track.sends) },
        })),
      ];
    }),
    ...buses.map(({ id, name, sends }): SendRow => ({
      ...{ id, name, kind: 'bus', hue: hueOf(session, id), sends: byBus(sends) },
    })),
    ...(rough
      ? [{ id: ROUGH, name: 'Rough', kind: 'rough' as const, hue: 'var(--ink-3)', sends: byBus(rough.sends) }]
      : []),
  ];
};

/** The buses that each bus feeds, directly or not, and itself: none of them may feed it, as sends never make a loop. */
export const circlesOf = (session: Session): ReadonlyMap<string, ReadonlySet<string>> =>
  new Map(session.buses.map(({ id }) => [id, new Set([id, ...downstreamOf(session, id)])]));
