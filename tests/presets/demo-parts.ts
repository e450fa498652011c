import { readFileSync } from 'node:fs';
import type { Audio } from '../../src/audio/audio.ts';
import { gainOf } from '../../src/audio/decibels.ts';
import { readAudioFile } from '../../src/files/node/node-files.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { makePlan } from '../../src/render/plan/make-plan.ts';
import { factsOf, sourcesAt } from '../../src/render/plan/sources.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import type { Suits } from '../../src/session/presets/preset.ts';
import { casesOf } from '../helpers/soak.ts';
import { sumOf } from './sums.ts';

/** The chorus of the demo song, where every part plays, s: three bars, and more when soaking. */
const FROM = 20;
const SECONDS = casesOf(7.5, 12);
/** So much before it is rendered too, in which the chains of the groups settle, s. */
const LEAD = 2;

const session = parseSession(readFileSync('demo-audio/session.json', 'utf8'), 'demo-audio/session.json');

/** Where each part stands in the demo session: groups, or tracks where a group holds more than the part. */
const PLACES: Readonly<Record<Exclude<Suits, 'rough'>, readonly string[]>> = {
  drums: ['kick-and-snare', 'kit'],
  kick: ['kick'],
  snare: ['snare'],
  toms: ['toms'],
  cymbals: ['cymbals'],
  percussion: ['hand-percussion'],
  bass: ['bass-stem'],
  guitars: ['guitars'],
  keys: ['keys-and-pad'],
  'lead vocal': ['lead-voice'],
  'backing vocal': ['backing-voices'],
  all: session.groups.map(({ id }) => id),
  mix: session.groups.map(({ id }) => id),
};

/** The chorus and what is rendered before it. */
const read = async (file: string): Promise<Audio> => {
  const { sampleRate, channels } = await readAudioFile(`demo-audio/${file}`);
  const [from, to] = [(FROM - LEAD) * sampleRate, (FROM + SECONDS) * sampleRate];
  return { sampleRate, channels: channels.map((channel) => channel.slice(from, to)) };
};

/** One or two channels as two, the chorus only. */
const chorus = ({ sampleRate, channels }: Audio): Audio => {
  const [left, right = left] = channels.map((channel) =>
    channel.slice(LEAD * sampleRate, (LEAD + SECONDS) * sampleRate),
  ) as [Float32Array, Float32Array?];
  return { sampleRate, channels: [left, right] };
};

/** The chorus of each track and group of the demo session without its buses, and of the rough. */
const readPlaces = async (): Promise<ReadonlyMap<string, Audio>> => {
  const sounds = new Map<string, Audio>();
  for (const { id, file } of session.tracks) sounds.set(id, await read(file));
  const bare = { ...session, buses: [], groups: session.groups.map((group) => ({ ...group, sends: [] })) };
  const sources = sourcesAt(session.sampleRate, session.tracks, sounds);
  const paths = await renderDirect(makePlan(bare, factsOf(sources)), sources);
  const places = new Map<string, Audio>();
  for (const { id, gainDb } of session.tracks) {
    const track = chorus(sounds.get(id)!);
    places.set(id, { ...track, channels: track.channels.map((channel) => channel.map((x) => gainOf(gainDb) * x)) });
  }
  for (const [id, path] of paths) places.set(id, chorus(path));
  places.set('rough', chorus(await read(session.rough!.file)));
  return places;
};

const places = readPlaces();

/** What a bus with parts of the demo song is fed by: all of them together. */
export const demoParts = async (parts: readonly Suits[]): Promise<Audio> => {
  const known = await places;
  const ids = new Set(parts.flatMap((part) => (part === 'rough' ? ['rough'] : PLACES[part])));
  return [...ids].map((id) => known.get(id)!).reduce((sum, sound) => sumOf(sum, sound));
};
