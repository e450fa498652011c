import { groupSchema, trackSchema, type Session } from '../schema.ts';

/** Id under which the rough through the mix bus stands among the passes; no pass that is saved gets it. */
export const ROUGH_THROUGH = 'rough-through-mix-bus';

/** The rough, through its own chain and the mix bus as it stands, as a session of its own; null: there is no rough. */
export const roughThrough = (session: Session): Session | null => {
  const { rough } = session;
  if (!rough) return null;
  const group = groupSchema.parse({ id: ROUGH_THROUGH, name: 'Rough' });
  const track = trackSchema.parse({ id: `${ROUGH_THROUGH}-track`, name: 'Rough', file: rough.file, group: group.id });
  const { offsetSeconds, chain } = rough;
  return {
    ...session,
    rough: null,
    tracks: [{ ...track, offsetSeconds, chain }],
    groups: [group],
    buses: [],
    passes: [],
  };
};
