import type { Setting, Settings } from '../../dsp/core/parameter.ts';
import { processorOf } from '../../dsp/core/registry.ts';
import { checkSetting } from './check-chain.ts';
import { allItems, isSplit, splitAround } from './chain-items.ts';
import { changeMember, listOf, put, requireConsistent, requireValid } from '../edits/edit-tools.ts';
import { ROUGH } from '../graph.ts';
import { freeId, withItemIds } from '../ids.ts';
import { withoutLostLines } from '../lines/lost-lines.ts';
import { withSwitchLine } from '../lines/switch-lines.ts';
import { ProblemError } from '../problem.ts';
import { pathText, type JsonPath } from '../read/reading-order.ts';
import {
  processorItemSchema,
  splitItemSchema,
  type ChainItem,
  type ChainItems,
  type ProcessorItem,
  type Session,
  type SplitItem,
} from '../schema.ts';

// Edits of chains, under the rules of `edits.ts`. The owner of a chain is a track, a group or a bus by its id, MIX or ROUGH.

/** Owner of the mix bus chain. */
export const MIX = 'mix';

/** The chain of a track, group, bus, of the mix bus or of the rough. Throws RangeError for an unknown owner. */
export const chainOf = (session: Session, owner: string): ChainItems => {
  if (owner === MIX) return session.mixBus.chain;
  if (owner === ROUGH) return session.rough?.chain ?? [];
  return session[listOf(session, owner)].find(({ id }) => id === owner)!.chain;
};

const chainPath = (session: Session, owner: string): JsonPath => {
  if (owner === MIX) return ['mixBus', 'chain'];
  if (owner === ROUGH) return ['rough', 'chain'];
  const list = listOf(session, owner);
  return [list, session[list].findIndex(({ id }) => id === owner), 'chain'];
};

const withChain = (session: Session, owner: string, chain: ChainItem[]): Session => {
  if (owner === MIX) return put(session, { mixBus: put(session.mixBus, { chain }) });
  if (owner === ROUGH) return put(session, { rough: session.rough && { ...session.rough, chain } });
  return changeMember(session, listOf(session, owner), owner, { chain });
};

const replaceChain = (session: Session, owner: string, chain: ChainItem[]): Session =>
  withoutLostLines(withChain(session, owner, chain));

/** Index of an item in its chain, and in the split that holds it, if one does. */
interface Place {
  readonly index: number;
  readonly inside: number | null;
}

const placeOf = (session: Session, owner: string, id: string): Place => {
  for (const [index, item] of chainOf(session, owner).entries()) {
    if (item.id === id) return { index, inside: null };
    const inside = isSplit(item) ? item.split.findIndex((inner) => inner.id === id) : -1;
    if (inside >= 0) return { index, inside };
  }
  throw new RangeError(`the chain of "${owner}" has no processor "${id}"`);
};

const pathOf = (session: Session, owner: string, { index, inside }: Place): JsonPath => [
  ...chainPath(session, owner),
  index,
  ...(inside === null ? [] : ['split', inside]),
];

const splitAt = (chain: ChainItems, index: number): SplitItem => {
  const item = chain[index];
  if (!item || !isSplit(item)) throw new RangeError(`there is no split at place ${index} of this chain`);
  return item;
};

const requireProcessor = (item: ChainItem): ProcessorItem => {
  if (isSplit(item)) throw new RangeError(`"${item.id}" is a split, not a processor`);
  return item;
};

/** The chain with a split's processors replaced; one that would be left empty is gone. */
const withSplit = (chain: ChainItems, index: number, split: ProcessorItem[]): ChainItem[] =>
  split.length === 0 ? chain.toSpliced(index, 1) : chain.toSpliced(index, 1, { ...splitAt(chain, index), split });

const itemAt = (session: Session, owner: string, { index, inside }: Place): ChainItem => {
  const chain = chainOf(session, owner);
  return inside === null ? chain[index]! : splitAt(chain, index).split[inside]!;
};

const changeItem = <T extends ChainItem>(session: Session, owner: string, id: string, fields: Partial<T>): Session => {
  const place = placeOf(session, owner, id);
  const item = itemAt(session, owner, place);
  const changed = put(item, fields as Partial<ChainItem>);
  if (changed === item) return session;
  const chain = chainOf(session, owner);
  const { index, inside } = place;
  if (inside === null) return replaceChain(session, owner, chain.toSpliced(index, 1, changed));
  const split = splitAt(chain, index).split.with(inside, requireProcessor(changed));
  return replaceChain(session, owner, withSplit(chain, index, split));
};

/** The chain without the item at a place, and that item. */
const taken = (chain: ChainItems, { index, inside }: Place): ChainItem[] =>
  inside === null
    ? chain.toSpliced(index, 1)
    : withSplit(chain, index, splitAt(chain, index).split.toSpliced(inside, 1));

const freshId = (chain: ChainItems, base: string): string => freeId(base, new Set(allItems(chain).map(({ id }) => id)));

/**
 * Adds a processor with its start settings at place `at` (0 first), else at the end, of the chain or of one of its splits;
 * its id is the processor's.
 */
export const addProcessor = (
  session: Session,
  owner: string,
  processor: string,
  at = Infinity,
  split: string | null = null,
): Session => {
  const chain = chainOf(session, owner);
  const item: ProcessorItem = {
    ...processorItemSchema.parse({ id: freshId(chain, processor), processor }),
    settings: { ...processorOf(processor).start },
  };
  return requireConsistent(replaceChain(session, owner, inserted(chain, item, split, at)));
};

/** The chain with a processor put into it, or into one of its splits. */
const inserted = (chain: ChainItems, item: ProcessorItem, split: string | null, at: number): ChainItem[] => {
  if (split === null) return chain.toSpliced(Math.min(at, chain.length), 0, item);
  const index = chain.findIndex(({ id }) => id === split);
  const held = splitAt(chain, index).split;
  return withSplit(chain, index, held.toSpliced(Math.min(at, held.length), 0, item));
};

/** Takes a processor out of a chain, or a split with all that stands in it; a split that is left empty goes too. */
export const removeProcessor = (session: Session, owner: string, id: string): Session =>
  replaceChain(session, owner, taken(chainOf(session, owner), placeOf(session, owner, id)));

const moved = <T>(list: readonly T[], from: number, to: number): T[] => {
  const place = Math.max(0, Math.min(list.length - 1, to));
  return list.toSpliced(from, 1).toSpliced(place, 0, list[from]!);
};

/** Moves a processor or a split to place `to` (0 first) of the chain, or of the split in which it stands. */
export const moveProcessor = (session: Session, owner: string, id: string, to: number): Session => {
  const chain = chainOf(session, owner);
  const { index, inside } = placeOf(session, owner, id);
  const next =
    inside === null ? moved(chain, index, to) : withSplit(chain, index, moved(splitAt(chain, index).split, inside, to));
  const order = (items: ChainItems): string =>
    allItems(items)
      .map((item) => item.id)
      .join(' ');
  return order(next) === order(chain) ? session : replaceChain(session, owner, next);
};

/** Puts a processor into a split of its own, at a mix of 100 %: it sounds as before until that is moved. */
export const wrapInSplit = (session: Session, owner: string, id: string): Session => {
  const chain = chainOf(session, owner);
  const { index, inside } = placeOf(session, owner, id);
  if (inside !== null) throw new RangeError(`"${id}" stands in a split already`);
  const item = requireProcessor(chain[index]!);
  const split = splitItemSchema.parse({ id: freshId(chain, 'split'), split: [item] });
  return replaceChain(session, owner, chain.toSpliced(index, 1, split));
};

/** Moves a processor into the split `split`, at place `at` of it, else at its end. */
export const moveIntoSplit = (session: Session, owner: string, id: string, split: string, at = Infinity): Session => {
  const place = placeOf(session, owner, id);
  const item = requireProcessor(itemAt(session, owner, place));
  if (splitAround(chainOf(session, owner), id)?.id === split) return moveProcessor(session, owner, id, at);
  return replaceChain(session, owner, inserted(taken(chainOf(session, owner), place), item, split, at));
};

/**
 * Takes a processor out of its split, into the chain: in front of the split if it stood first of several, else after it.
 * Given a split, takes out all that stands in it. A split that is left empty is gone.
 */
export const takeOutOfSplit = (session: Session, owner: string, id: string): Session => {
  const chain = chainOf(session, owner);
  const place = placeOf(session, owner, id);
  const { split } = splitAt(chain, place.index);
  if (place.inside === null) return replaceChain(session, owner, chain.toSpliced(place.index, 1, ...split));
  const rest = taken(chain, place);
  const at = split.length === 1 || place.inside === 0 ? place.index : place.index + 1;
  return replaceChain(session, owner, rest.toSpliced(at, 0, split[place.inside]!));
};

/** Switches a processor or a split on or off; off it is a wire without latency. */
export const setProcessorOn = (session: Session, owner: string, id: string, on: boolean): Session => {
  const switched = changeItem(session, owner, id, { on });
  return switched === session ? session : withSwitchLine(switched, { of: owner, what: 'bypass', item: id }, on);
};

/** Sets the mix of a processor or a split, percent. */
export const setMix = (session: Session, owner: string, id: string, mix: number): Session => {
  requireValid(processorItemSchema.shape.mix, mix, [...pathOf(session, owner, placeOf(session, owner, id)), 'mix']);
  return changeItem(session, owner, id, { mix });
};

/** Sets the mix law of a processor or a split. */
export const setLaw = (session: Session, owner: string, id: string, law: ChainItem['law']): Session =>
  changeItem(session, owner, id, { law });

/** The sound file that a processor works with. */
export const setSound = (session: Session, owner: string, id: string, sound: string): Session =>
  requireConsistent(changeItem<ProcessorItem>(session, owner, id, { sound }));

/** Sets one parameter of a processor: a number in its unit, a choice, a note value, or a switch. */
export const setSetting = (
  session: Session,
  owner: string,
  id: string,
  parameter: string,
  setting: Setting,
): Session => {
  const place = placeOf(session, owner, id);
  const { processor, settings } = requireProcessor(itemAt(session, owner, place));
  const definition = processorOf(processor).parameters[parameter];
  if (!definition) throw new RangeError(`the processor "${processor}" has no parameter "${parameter}"`);
  const fault = checkSetting(definition, setting, [...pathOf(session, owner, place), 'settings', parameter]);
  if (fault) throw new ProblemError({ ...fault, path: pathText(fault.path) });
  return changeItem<ProcessorItem>(session, owner, id, { settings: put(settings, { [parameter]: setting }) });
};

/** Sets several parameters of a processor, as `setSetting` does each. */
export const setSettings = (session: Session, owner: string, id: string, settings: Settings): Session =>
  Object.entries(settings).reduce(
    (now, [parameter, setting]) => setSetting(now, owner, id, parameter, setting),
    session,
  );

/** Gives a processor other settings in place of all that it has; those that are not named take their defaults. */
export const replaceSettings = (session: Session, owner: string, id: string, settings: Settings): Session => {
  setSettings(session, owner, id, settings);
  return changeItem<ProcessorItem>(session, owner, id, { settings });
};

/** Inverts the polarity at the end of a chain: with the gain processor that ends it, or with one that is added. */
export const turnPolarity = (session: Session, owner: string): Session => {
  const last = chainOf(session, owner).at(-1);
  if (last && !isSplit(last) && last.processor === 'gain' && last.on && last.mix === 100) {
    const turned = { normal: 'inverted', inverted: 'normal' }[String(last.settings['polarity'] ?? 'normal')];
    if (turned) return setSetting(session, owner, last.id, 'polarity', turned);
  }
  const added = addProcessor(session, owner, 'gain');
  return setSetting(added, owner, chainOf(added, owner).at(-1)!.id, 'polarity', 'inverted');
};

/** Replaces the whole chain, by that of a preset for example. */
export const setChain = (session: Session, owner: string, chain: ChainItems): Session =>
  requireConsistent(replaceChain(session, owner, withItemIds(chain)));

/** Sets a constant make-up of a compressor, dB (such as one that matches loudness), in place of its automatic one. */
export const setMakeUp = (session: Session, owner: string, item: string, makeUpDb: number): Session =>
  setSetting(setSetting(session, owner, item, 'autoMakeUp', false), owner, item, 'makeUp', makeUpDb);
