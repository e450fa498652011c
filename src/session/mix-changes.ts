import { processorOf } from '../dsp/core/registry.ts';
import { allItems, isSplit } from './chain/chain-items.ts';
import { itemNames, settingText } from './chain/chain-words.ts';
import type { Mix } from './graph.ts';
import { pointsText, targetTitle } from './lines/line-words.ts';
import type { Bus, ChainItem, ChainItems, Group, Send, Track } from './schema.ts';
import { apartText, levelText, panText, sendText } from './strip-words.ts';

// What differs between two states of a mix, setting by setting, in the words and units in which it is set by hand.

/** Changes of one member of the mix, a sentence each. */
export interface MemberChanges {
  /** "Drums (group)"; "Mix bus"; "Automation". */
  readonly of: string;
  readonly changes: readonly string[];
}

/** A setting: the same `key` in two states is the same setting. */
interface Fact {
  readonly key: string;
  readonly label: string;
  readonly text: string;
  /** Of an item of a chain: where the item is new or gone, the order of the chain says so. */
  readonly isOfItem?: true;
}

/** A member of a mix with all that can be set of it. */
interface Member {
  readonly key: string;
  readonly title: string;
  readonly facts: readonly Fact[];
}

type NameOf = (id: string) => string;

const onText = (on: boolean): string => (on ? 'on' : 'off');

const sendFacts = (sends: readonly Send[], nameOf: NameOf): Fact[] =>
  sends.map((send) => ({ key: `send ${send.to}`, label: `send to ${nameOf(send.to)}`, text: sendText(send) }));

/** All settings of one item; those of a parameter that stands at its default are there too. */
const itemFacts = (item: ChainItem, name: string): Fact[] => {
  const own = (field: string, text: string): Fact => ({
    key: `${item.id} ${field}`,
    label: `${name} ${field}`,
    text,
    isOfItem: true,
  });
  const facts = [own('bypass', onText(!item.on)), own('mix', `${Number(item.mix.toFixed(1))} %, ${item.law}`)];
  if (isSplit(item)) return facts;
  const { parameters, sound } = processorOf(item.processor);
  return [
    ...facts,
    ...(sound === undefined ? [] : [own(sound.toLowerCase(), item.sound ?? 'not chosen')]),
    ...Object.entries(parameters).map(([id, parameter]): Fact => {
      const { group, label, default: standard } = parameter;
      return {
        key: `${item.id} parameter ${id}`,
        label: `${name}: ${group === undefined ? '' : `${group}, `}${label}`,
        text: settingText(parameter, item.settings[id] ?? standard),
        isOfItem: true,
      };
    }),
  ];
};

/** The order of a chain, and every setting in it. */
const chainFacts = (chain: ChainItems): Fact[] => {
  const names = itemNames(chain);
  const order = (items: ChainItems): string =>
    items.map((item) => names.get(item.id)! + (isSplit(item) ? ` (${order(item.split)})` : '')).join(', ');
  return [
    { key: 'order', label: 'processors', text: chain.length === 0 ? 'none' : order(chain) },
    ...allItems(chain).flatMap((item) => itemFacts(item, names.get(item.id)!)),
  ];
};

const keyFact = (key: string | null, nameOf: NameOf): Fact => ({
  key: 'key',
  label: 'key input',
  text: key === null ? 'none' : nameOf(key),
});

const fact = (label: string, text: string): Fact => ({ key: label, label, text });

const trackMember = (track: Track, nameOf: NameOf): Member => ({
  key: `track ${track.id}`,
  title: `${track.name} (track)`,
  facts: [
    fact('name', track.name),
    fact('file', track.file),
    fact('group', nameOf(track.group)),
    fact('on', onText(track.on)),
    fact('gain', levelText(track.gainDb)),
    fact('pan', panText(track.pan)),
    fact('channels', track.channels),
    fact('polarity', track.polarity),
    fact('starts at', `${track.offsetSeconds.toFixed(4)} s`),
    fact('right channel', apartText(track.rightOffsetSeconds)),
    keyFact(track.key, nameOf),
    ...sendFacts(track.sends, nameOf),
    ...chainFacts(track.chain),
  ],
});

const pathMember = (path: Group | Bus, nameOf: NameOf): Member => {
  const isBus = 'blendDb' in path;
  return {
    key: `${isBus ? 'bus' : 'group'} ${path.id}`,
    title: `${path.name} (${isBus ? 'bus' : 'group'})`,
    facts: [
      fact('name', path.name),
      isBus ? fact('blend', levelText(path.blendDb)) : fact('fader', levelText(path.faderDb)),
      fact('muted', onText(!path.on)),
      ...(isBus ? [] : [fact('vocal', onText(path.vocal))]),
      fact('solo-safe', onText(path.soloSafe)),
      keyFact(path.key, nameOf),
      ...sendFacts(path.sends, nameOf),
      ...chainFacts(path.chain),
    ],
  };
};

const membersOf = (mix: Mix): Member[] => {
  const { tracks, groups, buses, mixBus, rough, lines } = mix;
  const names = new Map([...tracks, ...groups, ...buses].map(({ id, name }) => [id, name]));
  const nameOf: NameOf = (id) => names.get(id) ?? id;
  return [
    ...tracks.map((track) => trackMember(track, nameOf)),
    ...groups.map((group) => pathMember(group, nameOf)),
    ...buses.map((bus) => pathMember(bus, nameOf)),
    {
      ...{ key: 'mix bus', title: 'Mix bus' },
      facts: [fact('trim', levelText(mixBus.trimDb)), ...chainFacts(mixBus.chain)],
    },
    {
      ...{ key: 'rough', title: 'Rough as a source' },
      facts: rough ? [...sendFacts(rough.sends, nameOf), ...chainFacts(rough.chain)] : [],
    },
    {
      ...{ key: 'lines', title: 'Automation' },
      facts: lines.map((line) => ({
        key: JSON.stringify(line.target),
        label: targetTitle(mix, line.target),
        text: `${pointsText(mix, line)}${line.on ? '' : ' (off)'}`,
      })),
    },
  ];
};

const differences = (before: readonly Fact[], after: readonly Fact[]): string[] => {
  const then = new Map(before.map((each) => [each.key, each]));
  const now = new Set(after.map(({ key }) => key));
  return [
    ...after.flatMap(({ key, label, text, isOfItem }) => {
      const old = then.get(key);
      if (old) return old.text === text ? [] : [`${label}: ${old.text} → ${text}`];
      return isOfItem ? [] : [`${label}: new, ${text}`];
    }),
    ...before
      .filter(({ key, isOfItem }) => !now.has(key) && !isOfItem)
      .map(({ label, text }) => `${label}: was ${text}, now gone`),
  ];
};

/** What changed from one state of a mix to another, member by member in reading order; members that are as they were are left out. */
export const mixChanges = (before: Mix, after: Mix): MemberChanges[] => {
  const then = new Map(membersOf(before).map((member) => [member.key, member]));
  const members = membersOf(after);
  const now = new Set(members.map(({ key }) => key));
  return [
    ...members.map(({ key, title, facts }) => {
      const old = then.get(key);
      return { of: title, changes: old ? differences(old.facts, facts) : ['new'] };
    }),
    ...[...then.values()]
      .filter(({ key }) => !now.has(key))
      .map(({ title }) => ({ of: title, changes: ['taken out'] })),
  ].filter(({ changes }) => changes.length > 0);
};
