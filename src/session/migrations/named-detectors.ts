import { chainsChanged, inList, inObject, type Json, withMembers } from './tools.ts';

// Until session version 3 and preset version 2, a compressor whose file named no detector had the peak detector.

const itemFrom = (item: Json): Json => {
  const named = withMembers(item, { split: (split) => inList(split, itemFrom) });
  if (named.processor !== 'compressor') return named;
  const settings = inObject(named.settings ?? {}, (given) =>
    given.detector === undefined ? { ...given, detector: 'peak' } : given,
  );
  return { ...named, settings };
};

const chainFrom = (chain: unknown): unknown => inList(chain, itemFrom);

/** A session of version 3 as one of version 4, which sounds as before. */
export const sessionFromVersion3 = (session: Json): Json => chainsChanged(session, chainFrom);

/** A preset or bus set of version 2 as one of version 3, which sounds as before. */
export const presetFromVersion2 = (preset: Json): Json =>
  withMembers(preset, {
    chain: chainFrom,
    buses: (buses) => inList(buses, (bus) => withMembers(bus, { chain: chainFrom })),
  });
