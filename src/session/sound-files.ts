import { isSplit } from './chain/chain-items.ts';
import type { Mix } from './graph.ts';
import type { JsonPath } from './read/reading-order.ts';
import type { ChainItem, ChainItems, Session } from './schema.ts';

/** A field of a session that names a sound file, and what the user calls that sound. */
export interface NamedFile {
  readonly file: string;
  readonly path: JsonPath;
  readonly what: string;
}

const itemFiles = (item: ChainItem, path: JsonPath): NamedFile[] => {
  if (isSplit(item)) return item.split.flatMap((inner, n) => itemFiles(inner, [...path, 'split', n]));
  const { id, sound } = item;
  return sound === undefined ? [] : [{ file: sound, path: [...path, 'sound'], what: `the sound of "${id}"` }];
};

/** Sounds that the processors of a chain, which stands at `path`, work with. */
export const chainFiles = (chain: ChainItems, path: JsonPath): NamedFile[] =>
  chain.flatMap((item, n) => itemFiles(item, [...path, n]));

/** Sounds of all chains of a mix. */
export const chainFilesOf = ({ rough, tracks, groups, buses, mixBus }: Mix): NamedFile[] => [
  ...chainFiles(rough?.chain ?? [], ['rough', 'chain']),
  ...Object.entries({ tracks, groups, buses }).flatMap(([list, members]) =>
    members.flatMap(({ chain }, n) => chainFiles(chain, [list, n, 'chain'])),
  ),
  ...chainFiles(mixBus.chain, ['mixBus', 'chain']),
];

/** Every file that a session names, in reading order; a file that is named twice is there twice. */
export const namedFiles = (session: Session): NamedFile[] => [
  ...(session.rough ? [{ file: session.rough.file, path: ['rough', 'file'], what: 'the rough mix' }] : []),
  ...session.tracks.map(({ name, file }, n) => ({ file, path: ['tracks', n, 'file'], what: `track "${name}"` })),
  ...chainFilesOf(session),
];
