import { MANIFEST_ENDING } from '../print/manifest.ts';
import { fileWords } from '../print/print-names.ts';

// Where things are in a bundle: session.json, its sound in audio/, its report in report/, its lists in open formats in lists/, and a manifest of all, which `verify` reads.

export const BUNDLE_SESSION = 'session.json';
export const BUNDLE_MANIFEST = `bundle${MANIFEST_ENDING}`;
export const BUNDLE_REPORT = 'report/';
export const BUNDLE_LISTS = 'lists/';
const AUDIO = 'audio/';

/** A path below the folder for sound: without parts that lead out of it, and with names that are valid on every system. */
const below = (file: string): string => {
  const parts = file.split(/[\\/]/).filter((part) => part !== '' && part !== '.' && part !== '..');
  const [first, ...rest] = parts[0] === AUDIO.slice(0, -1) && parts.length > 1 ? parts.slice(1) : parts;
  return `${AUDIO}${[first ?? '', ...rest].map((part) => fileWords(part, 'sound')).join('/')}`;
};

/** Paths of files in a bundle, by their paths in the session; unique, also regardless of case. */
export const bundlePaths = (files: readonly string[]): ReadonlyMap<string, string> => {
  const taken = new Set<string>();
  const paths = new Map<string, string>();
  for (const file of new Set(files)) {
    const path = below(file);
    const [, stem = path, ending = ''] = /^(.*?)(\.[^./]*)?$/.exec(path) ?? [];
    let free = path;
    for (let n = 2; taken.has(free.toLowerCase()); n++) free = `${stem}-${n}${ending}`;
    taken.add(free.toLowerCase());
    paths.set(file, free);
  }
  return paths;
};
