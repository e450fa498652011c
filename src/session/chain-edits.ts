import type { Setting } from '../dsp/parameter.ts';
import { processorOf } from '../dsp/registry.ts';
import { checkSetting } from './check-chain.ts';
import { changeMember, listOf, put, requireSound } from './edit-tools.ts';
import { freeId, withItemIds } from './ids.ts';
import { ProblemError } from './problem.ts';
import { pathText, type JsonPath } from './reading-order.ts';
import type { ChainItem, ChainItems, Session } from './schema.ts';

// Edits of chains, under the rules of `edits.ts`. The owner of a chain is a track, a group or a bus by its id, or MIX.

/** Owner of the mix bus chain. */
export const MIX = 'mix';

/** The chain of a track, group, bus or of the mix bus. Throws RangeError for an unknown owner. */
export const chainOf = (session: Session, owner: string): ChainItems =>
  owner === MIX ? session.mixBus.chain : session[listOf(session, owner)].find(({ id }) => id === owner)!.chain;

const chainPath = (session: Session, owner: string): JsonPath => {
  if (owner === MIX) return ['mixBus', 'chain'];
  const list = listOf(session, owner);
  return [list, session[list].findIndex(({ id }) => id === owner), 'chain'];
};

const replaceChain = (session: Session, owner: string, chain: ChainItem[]): Session =>
  owner === MIX
    ? put(session, { mixBus: put(session.mixBus, { chain }) })
    : changeMember(session, listOf(session, owner), owner, { chain });

const indexOf = (session: Session, owner: string, item: string): number => {
  const index = chainOf(session, owner).findIndex(({ id }) => id === item);
  if (index < 0) throw new RangeError(`the chain of "${owner}" has no processor "${item}"`);
  return index;
};

const changeItem = (session: Session, owner: string, item: string, fields: Partial<ChainItem>): Session => {
  const index = indexOf(session, owner, item);
  const chain = [...chainOf(session, owner)];
  const changed = put(chain[index]!, fields);
  return changed === chain[index] ? session : replaceChain(session, owner, chain.with(index, changed));
};

/** Adds a processor with its start settings at place `at` (0 first), else at the end; its id is the processor's. */
export const addProcessor = (session: Session, owner: string, processor: string, at = Infinity): Session => {
  const chain = chainOf(session, owner);
  const id = freeId(processor, new Set(chain.map((item) => item.id)));
  const item: ChainItem = { id, processor, on: true, settings: { ...processorOf(processor).start } };
  return requireSound(replaceChain(session, owner, chain.toSpliced(Math.min(at, chain.length), 0, item)));
};

/** Takes a processor out of a chain. */
export const removeProcessor = (session: Session, owner: string, item: string): Session =>
  replaceChain(session, owner, chainOf(session, owner).toSpliced(indexOf(session, owner, item), 1));

/** Moves a processor to place `to` (0 first) of its chain. */
export const moveProcessor = (session: Session, owner: string, item: string, to: number): Session => {
  const chain = chainOf(session, owner);
  const from = indexOf(session, owner, item);
  const place = Math.max(0, Math.min(chain.length - 1, to));
  if (place === from) return session;
  return replaceChain(session, owner, chain.toSpliced(from, 1).toSpliced(place, 0, chain[from]!));
};

/** Switches a processor on or off; off it is a wire without latency. */
export const setProcessorOn = (session: Session, owner: string, item: string, on: boolean): Session =>
  changeItem(session, owner, item, { on });

/** Sets one parameter of a processor: a number in its unit, a choice, a note value, or a switch. */
export const setSetting = (
  session: Session,
  owner: string,
  item: string,
  parameter: string,
  setting: Setting,
): Session => {
  const index = indexOf(session, owner, item);
  const { processor, settings } = chainOf(session, owner)[index]!;
  const definition = processorOf(processor).parameters[parameter];
  if (!definition) throw new RangeError(`the processor "${processor}" has no parameter "${parameter}"`);
  const fault = checkSetting(definition, setting, [...chainPath(session, owner), index, 'settings', parameter]);
  if (fault) throw new ProblemError({ ...fault, path: pathText(fault.path) });
  return changeItem(session, owner, item, { settings: put(settings, { [parameter]: setting }) });
};

/** Lays a whole chain, such as that of a preset, in place of the one that is there. */
export const setChain = (session: Session, owner: string, chain: ChainItems): Session =>
  requireSound(replaceChain(session, owner, withItemIds(chain)));

/** Sets a constant make-up of a compressor, dB (such as one that matches loudness), in place of its automatic one. */
export const setMakeUp = (session: Session, owner: string, item: string, makeUpDb: number): Session =>
  setSetting(setSetting(session, owner, item, 'autoMakeUp', false), owner, item, 'makeUp', makeUpDb);
