import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Audio } from '../../src/audio/audio.ts';
import { finished } from '../../src/audio/steps.ts';
import { readAudioFile } from '../../src/files/node/node-files.ts';
import { fitMeters } from '../../src/measure/heard.ts';
import { renderDirect } from '../../src/render/direct.ts';
import { cacheKey } from '../../src/render/executor.ts';
import { fittedChainSteps } from '../../src/render/fit/fit-chain.ts';
import { makePlan } from '../../src/render/plan/make-plan.ts';
import { factsOf, sourcesAt, type Sources } from '../../src/render/plan/sources.ts';
import { arrivalSteps, feedsOf, mixBusFeeds, type Feeds } from '../../src/render/stage-input.ts';
import { StripCache } from '../../src/render/strip-cache.ts';
import { MIX, setChain } from '../../src/session/chain/chain-edits.ts';
import { parseSession } from '../../src/session/read/parse.ts';
import type { Preset } from '../../src/session/presets/preset.ts';
import { presetByName } from '../../src/session/presets/presets.ts';
import type { Session } from '../../src/session/schema.ts';

/** What lies on the mix bus. */
const MIX_BUS_PRESET = 'mix bus polish';

const readSources = async (session: Session, folder: string): Promise<Sources> => {
  const sounds = new Map<string, Audio>();
  for (const { id, file } of session.tracks) sounds.set(id, await readAudioFile(join(folder, file)));
  return sourcesAt(session.sampleRate, session.tracks, sounds);
};

/** The session with a preset laid on a bus, or on the mix bus, fitted to the whole song as it comes there. */
const fittedOn = async (
  session: Session,
  path: string,
  preset: Preset,
  sources: Sources,
  cache: StripCache,
): Promise<Session> => {
  const laid = setChain(session, path, preset.chain);
  const plan = makePlan(laid, factsOf(sources));
  // What comes to the bus is asked of the cache afterwards: none of it may go.
  cache.keep(new Set(plan.strips.map((strip) => cacheKey(plan, strip))));
  const paths = await renderDirect(plan, sources, { cache });
  const strip = plan.strips.find(({ id }) => id === path);
  const feeds: Feeds = strip ? feedsOf(plan, strip, sources, cache)! : mixBusFeeds(plan, paths);
  const range = { from: 0, to: plan.soundFrames };
  const meters = { range, song: laid, ...fitMeters };
  const { chain } = finished(fittedChainSteps(finished(arrivalSteps(feeds, range)), preset, meters));
  return setChain(laid, path, chain);
};

/** Lays the presets that the buses of the demo session are called after on them again, each fitted to what reaches it. */
export const fitSession = async (folder: string): Promise<void> => {
  const file = join(folder, 'session.json');
  let session = parseSession(readFileSync(file, 'utf8'), file);
  const sources = await readSources(session, folder);
  const cache = new StripCache();
  const order = makePlan(session, factsOf(sources)).strips.map(({ id }) => id);
  const buses = [...session.buses].sort((a, b) => order.indexOf(a.id) - order.indexOf(b.id));
  for (const { id, name } of buses) session = await fittedOn(session, id, presetByName(name)!, sources, cache);
  session = await fittedOn(session, MIX, presetByName(MIX_BUS_PRESET)!, sources, cache);
  writeFileSync(file, `${JSON.stringify(session, null, 2)}\n`);
  console.log(`${file}: ${buses.length} buses and the mix bus fitted`);
};
