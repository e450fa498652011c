import { setTempo, setTempoMap } from '../session/edits/edits.ts';
import type { Session } from '../session/schema.ts';

/** A bar that begins this near to the start of the song, seconds, begins with it. */
const AT_START = 0.01;

/**
 * The session at this tempo, its bars from the second on those of the music, of which one begins at `downbeatSeconds`: the first
 * begins with the song and is longer by what is missing. Other changes of tempo are taken out.
 */
export const barsOnDownbeat = (session: Session, tempo: number, downbeatSeconds: number): Session => {
  const [beats, note] = session.meter;
  const quarters = (4 * beats) / note;
  const bar = (60 * quarters) / tempo;
  const late = ((downbeatSeconds % bar) + bar) % bar;
  if (late < AT_START || bar - late < AT_START) return setTempoMap(setTempo(session, tempo), { tempoChanges: [] });
  const first = setTempo(session, (60 * quarters) / (bar + late));
  return setTempoMap(first, { tempoChanges: [{ bar: 2, tempo, how: 'step' }] });
};
