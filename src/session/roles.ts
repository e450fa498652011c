import type { Group } from './schema.ts';

/** Parts of a band that a group may hold, as presets and bus sets speak of them. */
export const ROLES = [
  'drums',
  'kick',
  'snare',
  'toms',
  'cymbals',
  'percussion',
  'bass',
  'guitars',
  'keys',
  'lead vocal',
  'backing vocal',
] as const;
export type Role = (typeof ROLES)[number];

/** All that can be recognised in a name: the roles, and parts that no preset is written for. */
export const PARTS = [...ROLES, 'strings', 'brass', 'effects'] as const;
export type Part = (typeof PARTS)[number];

/** What a bus may be fed by: a role, or every group. */
export const FEEDS = [...ROLES, 'all'] as const;
export type Feed = (typeof FEEDS)[number];

/** The parts of a drum kit: whoever asks for the drums gets these too. */
export const KIT: readonly Role[] = ['kick', 'snare', 'toms', 'cymbals', 'percussion'];

/** Words in the name of a group or a file, small letters, that tell what it holds. A plural with s is known too. */
export const WORDS: Readonly<Record<Part, readonly string[]>> = {
  drums: ['drum', 'kit', 'drumkit', 'beat', 'breakbeat', 'rhythm', 'room', 'shell', 'ambience', 'amb'],
  kick: ['kick', 'kik', 'bassdrum', 'bd', 'bdr'],
  snare: ['snare', 'snr', 'sn', 'sd', 'clap', 'rimshot', 'sidestick'],
  toms: ['tom', 'tomtom', 'floortom'],
  cymbals: ['cymbal', 'overhead', 'oh', 'hat', 'hihat', 'hh', 'ride', 'crash', 'splash', 'cym'],
  percussion: [
    'percussion',
    'perc',
    'shaker',
    'tambourine',
    'conga',
    'bongo',
    'cajon',
    'cowbell',
    'tamb',
    'triangle',
    'maraca',
    'djembe',
    'timbale',
  ],
  bass: ['bass', 'bs', 'sub', 'basses', 'contrabass', 'subbass'],
  guitars: ['guitar', 'gtr', 'git', 'strum', 'acoustic', 'banjo', 'mandolin', 'ukulele', 'riff', 'lapsteel'],
  keys: [
    ...['key', 'keyboard', 'piano', 'pno', 'organ', 'synth', 'syn', 'pad', 'clavinet', 'clav', 'arp', 'pluck'],
    ...['harpsichord', 'celesta', 'vibraphone', 'marimba', 'glockenspiel', 'bell', 'accordion'],
  ],
  strings: ['string', 'violin', 'viola', 'cello', 'celli', 'fiddle', 'harp', 'pizzicato', 'vln', 'vla', 'vc'],
  brass: [
    ...['brass', 'horn', 'trumpet', 'trombone', 'tuba', 'tpt', 'tbn', 'flugelhorn'],
    ...['sax', 'saxophone', 'flute', 'clarinet', 'oboe', 'bassoon', 'woodwind'],
  ],
  effects: [
    'effect',
    'fx',
    'sfx',
    'riser',
    'impact',
    'sweep',
    'whoosh',
    'noise',
    'atmosphere',
    'atmo',
    'drone',
    'foley',
  ],
  'lead vocal': [
    'vocal',
    'voice',
    'vox',
    'voc',
    'vx',
    'ldv',
    'singer',
    'singing',
    'sung',
    'rap',
    'speech',
    'narrator',
    'lv',
  ],
  'backing vocal': [
    'backing',
    'backings',
    'background',
    'choir',
    'harmony',
    'harmonies',
    'harm',
    'bv',
    'bgv',
    'bvs',
    'bgvs',
    'chant',
    'gang',
  ],
};

/** Words that count only if no other word does: a lead may be sung or played. */
const ALONE: Partial<Readonly<Record<Part, readonly string[]>>> = { 'lead vocal': ['lead'] };

const wordsOf = (name: string): string[] =>
  name
    .replace(/(\p{Ll})(?=\p{Lu})/gu, '$1 ')
    .toLowerCase()
    .replace(/bass[\s-]+drum/g, 'bassdrum')
    .split(/[^\p{L}]+/u)
    .filter((word) => word !== '');

const isAmong = (word: string, known: readonly string[]): boolean =>
  known.includes(word) || (word.endsWith('s') && known.includes(word.slice(0, -1)));

/**
 * What a group (or a track, which has no vocal mark) holds, by the words of its name: "Kick and snare" is kick and snare, "Backing voices" backing vocal only.
 * A group that is marked as vocal is a lead vocal unless its name says backing.
 */
export const rolesOf = ({ name, vocal }: Pick<Group, 'name' | 'vocal'>): readonly Part[] => {
  const words = wordsOf(name);
  const named = PARTS.filter((role) => words.some((word) => isAmong(word, WORDS[role])));
  const found =
    named.length > 0 ? named : PARTS.filter((role) => words.some((word) => isAmong(word, ALONE[role] ?? [])));
  const backs = found.includes('backing vocal');
  const sings = vocal || found.includes('lead vocal');
  if (!backs && !sings) return found;
  // "Voice pad" without the vocal mark is a pad; with it, a vocal.
  const others = vocal ? [] : found.filter((role) => role !== 'lead vocal' && role !== 'backing vocal');
  return [...others, backs ? 'backing vocal' : 'lead vocal'];
};

/** Whether a name speaks of singers only: "Voice" and "Backing vocals", not "Voice pad". */
export const isSungByName = (name: string): boolean => {
  const roles = rolesOf({ name, vocal: false });
  return roles.length > 0 && roles.every((role) => role === 'lead vocal' || role === 'backing vocal');
};

/** True if a group has the role that a bus is fed by; "keys" includes strings. */
export const feeds = (group: Pick<Group, 'name' | 'vocal'>, feed: Feed): boolean => {
  if (feed === 'all') return true;
  const roles = rolesOf(group);
  if (feed === 'keys' && roles.includes('strings')) return true;
  return roles.includes(feed) || (feed === 'drums' && KIT.some((role) => roles.includes(role)));
};

/** Name of a group for each role. */
const FAMILIES: Readonly<Record<Part, string>> = {
  drums: 'Drums',
  kick: 'Drums',
  snare: 'Drums',
  toms: 'Drums',
  cymbals: 'Drums',
  percussion: 'Drums',
  bass: 'Bass',
  guitars: 'Guitars',
  keys: 'Keys',
  strings: 'Strings',
  brass: 'Brass',
  effects: 'Effects',
  'lead vocal': 'Vocals',
  'backing vocal': 'Vocals',
};

/** The name of a group for a track, by the words of the track's name; null: they tell nothing. */
export const familyOf = (name: string): string | null => {
  const [role] = rolesOf({ name, vocal: false });
  return role === undefined ? null : FAMILIES[role];
};

/** The first group with the role that a track’s name says; null: none. */
export const homeOf = <G extends Pick<Group, 'name' | 'vocal'>>(name: string, groups: readonly G[]): G | null => {
  const roles = rolesOf({ name, vocal: false });
  return groups.find((group) => rolesOf(group).some((role) => roles.includes(role))) ?? null;
};
