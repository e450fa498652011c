import { chainsChanged, inList, inObject, type Json, withMembers } from './tools.ts';

const peakDetector = (detector: unknown): boolean => detector === undefined || detector === 'peak';
const below = (value: unknown, limit: number): boolean => typeof value === 'number' && value < limit;

/** What says nothing of oversampling and would now have it (the times are those of the compressor when version 3 came). */
const wouldBeOversampled = ({ oversampling, detector, attack, release }: Json): boolean =>
  oversampling === undefined && peakDetector(detector) && (below(attack, 1) || below(release, 20));

const settingsFrom = (settings: unknown): unknown =>
  inObject(settings, (given) => (wouldBeOversampled(given) ? { ...given, oversampling: 'off' } : given));

const itemFrom = (item: Json): Json =>
  withMembers(item, {
    split: (split) => inList(split, itemFrom),
    settings: (settings) => (item.processor === 'compressor' ? settingsFrom(settings) : settings),
  });

/**
 * A session of version 2 as one of version 3, which sounds as before. What version 3 added is neutral where a file does not name
 * it, but that fast compressors oversample by themselves.
 */
export const sessionFromVersion2 = (session: Json): Json => chainsChanged(session, (chain) => inList(chain, itemFrom));
