import { addBus, setSend } from '../session/edits/edits.ts';
import { ROUGH } from '../session/graph.ts';
import type { Session } from '../session/schema.ts';
import type { Received } from './received.ts';
import { TURNED } from './turned.ts';
import { withRoughBalance } from './take-over.ts';

/**
 * A mix that sounds as what the tracks leave of the rough: the rough, and the tracks at its levels and places with inverted polarity. Chains,
 * buses and the mix bus are out of the way. The rough lies at whole samples, so what is left of a rough that is a part of a sample
 * late has more highs than it should.
 */
export const leftoverMix = (session: Session, received: Received, ids: readonly string[]): Session => {
  const { polarity } = received.rough!.explained;
  const balanced = withRoughBalance({ ...session, lines: [] }, received, ids, true);
  const plain: Session = {
    ...balanced,
    rough: { ...balanced.rough!, chain: [], sends: [] },
    tracks: balanced.tracks.map((track) => ({
      ...track,
      ...{ chain: [], key: null, sends: [] },
      on: track.on && ids.includes(track.id),
      polarity: polarity > 0 ? TURNED[track.polarity].both : track.polarity,
    })),
    groups: balanced.groups.map((group) => ({ ...group, on: true, chain: [], key: null, faderDb: 0, sends: [] })),
    buses: [],
    mixBus: { trimDb: 0, chain: [] },
  };
  const withBus = addBus(plain, { name: 'Rough' });
  return setSend(withBus, ROUGH, withBus.buses[0]!.id);
};
