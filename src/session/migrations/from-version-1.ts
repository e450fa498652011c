// Version 2 calls things by their trade names. Nothing else changed, but that EQ slopes end at 48 dB/oct.
// A part that is not of the expected shape is left as it is: the schema then says what is wrong with it.

import { inList, inObject, type Json, withMembers } from './tools.ts';

/** How the settings of one processor are renamed. */
interface Renaming {
  readonly processor?: string;
  /** New ids of parameters, by the old ones. */
  readonly parameters?: Readonly<Record<string, string>>;
  /** New names of choices, by the new id of their parameter and the old name. */
  readonly choices?: Readonly<Record<string, Readonly<Record<string, string>>>>;
}

const SIDE_CHAIN: Renaming = {
  parameters: { listen: 'sideChain' },
  choices: { sideChain: { own: 'internal', key: 'external' } },
};

const RENAMINGS: Readonly<Record<string, Renaming>> = {
  compressor: SIDE_CHAIN,
  gate: SIDE_CHAIN,
  delay: { parameters: { style: 'mode' } },
  'harshness-control': {
    parameters: { depth: 'range', selectivity: 'prominence', difference: 'listenToRemoved' },
  },
  modulation: {
    processor: 'chorus',
    parameters: { swing: 'lfo' },
    choices: { lfo: { even: 'sine', steady: 'triangle' } },
  },
  saturator: { parameters: { amount: 'mix' } },
  'sub-octave': {
    parameters: { upTo: 'highestFundamental' },
    choices: { output: { 'sound and sub': 'input and sub', 'sub alone': 'sub only' } },
  },
  tape: { parameters: { amount: 'mix' } },
};

const GUARDS: Readonly<Record<string, string>> = {
  'true peak ceiling': 'true-peak ceiling',
  'loudness range loss': 'LRA loss',
  'peak to loudness floor': 'minimum PLR',
  'mono fold loss': 'mono loss',
};

const TAPS: Readonly<Record<string, string>> = { 'before fader': 'pre-fader', 'after fader': 'post-fader' };

/** Slopes that version 2 no longer has; 48 dB/oct comes nearest. */
const STEEPER = ['72 dB/oct', '96 dB/oct'];
const STEEPEST = '48 dB/oct';
const STEEPER_NOTE = `Opened from format version 1: EQ cuts steeper than ${STEEPEST} are now ${STEEPEST}.`;

/** The object with its members called otherwise, in the same order. */
const withNames = (object: Json, names: Readonly<Record<string, string>>): Json =>
  Object.fromEntries(Object.entries(object).map(([key, value]) => [names[key] ?? key, value]));

const renamed =
  (names: Readonly<Record<string, string>>) =>
  (value: unknown): unknown =>
    typeof value === 'string' && Object.hasOwn(names, value) ? names[value] : value;

const settingsRenamed = (settings: Json, { parameters = {}, choices = {} }: Renaming): Json =>
  withMembers(
    withNames(settings, parameters),
    Object.fromEntries(Object.entries(choices).map(([parameter, names]) => [parameter, renamed(names)])),
  );

const slopesRenamed = (settings: Json): Json =>
  Object.fromEntries(
    Object.entries(settings).map(([id, setting]) => [id, STEEPER.includes(String(setting)) ? STEEPEST : setting]),
  );

const itemFrom = (item: Json): Json => {
  const named = withMembers(withNames(item, { wet: 'mix' }), { split: (split) => inList(split, itemFrom) });
  if (named.processor === 'eq') return withMembers(named, { settings: (value) => inObject(value, slopesRenamed) });
  const renaming = RENAMINGS[String(named.processor)];
  if (!renaming) return named;
  return withMembers(named, {
    processor: (id) => renaming.processor ?? id,
    settings: (value) => inObject(value, (settings) => settingsRenamed(settings, renaming)),
  });
};

/** A chain of version 1 in the words of version 2; one that is in them already stays as it is. */
export const chainFromVersion1 = (chain: unknown): unknown => inList(chain, itemFrom);
const sendsFrom = (sends: unknown): unknown => inList(sends, (send) => withMembers(send, { tap: renamed(TAPS) }));

/** A track, a group, a bus or the mix bus; also a bus of a bus set, which may name its chain. */
const memberFrom = (member: Json): Json =>
  withMembers(withNames(member, { voice: 'vocal' }), { chain: chainFromVersion1, sends: sendsFrom, feeds: sendsFrom });

const membersFrom = (members: unknown): unknown => inList(members, memberFrom);

/** The mix of a session, or of a pass. */
const MIX = {
  tracks: membersFrom,
  groups: membersFrom,
  buses: membersFrom,
  mixBus: (mixBus: unknown): unknown => inObject(mixBus, memberFrom),
};

const hasSteeper = (session: Json): boolean => STEEPER.some((slope) => JSON.stringify(session).includes(`"${slope}"`));

/** A session of version 1 in the words of version 2; it sounds as before, unless an EQ slope has to be changed: then its notes say so. */
export const sessionFromVersion1 = (session: Json): Json => {
  const changed = withMembers(session, {
    ...MIX,
    guards: (guards) => inList(guards, (guard) => withMembers(guard, { guard: renamed(GUARDS) })),
    passes: (passes) => inList(passes, (pass) => withMembers(pass, MIX)),
  });
  if (!hasSteeper(session)) return changed;
  const notes = typeof session.notes === 'string' && session.notes !== '' ? `${session.notes}\n` : '';
  return { ...changed, notes: `${notes}${STEEPER_NOTE}` };
};

/** A preset or bus set of version 1 in the words of version 2. */
export const presetFromVersion1 = (preset: Json): Json =>
  withMembers(preset, {
    chain: chainFromVersion1,
    buses: membersFrom,
    claims: (claims) =>
      inList(claims, (claim) => withMembers(claim, { claim: renamed({ 'gives way to its key': 'ducks to its key' }) })),
  });
