import { decibels, percent, toggle } from '../../dsp/core/parameter-builders.ts';
import { valuesFrom, valueOf, type Parameter, type Setting, type Values } from '../../dsp/core/parameter.ts';
import { processorOf } from '../../dsp/core/registry.ts';
import { allItems, isSplit, itemOf } from '../chain/chain-items.ts';
import { ROUGH, type Mix } from '../graph.ts';
import { CLOSED_DB, LOUDEST_DB, type ChainItem, type ChainItems, type ProcessorItem, type Send } from '../schema.ts';
import type { LineTarget } from './line-schema.ts';

/** Names the mix bus as the target of a line. */
export const MIX_BUS = 'mix';

/** What a line may move, described as a parameter of a processor is, and how it stands without a line. */
export interface Control {
  readonly parameter: Parameter;
  readonly setting: Setting;
}

/** Why there is no such control: the field of the target that is wrong, and what would be right there. */
export interface NoControl {
  readonly field: keyof LineTarget;
  readonly expected: readonly string[];
}

const level = (label: string): Parameter =>
  decibels(label, [CLOSED_DB, LOUDEST_DB], { about: 'Level; at its lowest it is closed.' });
const ON = toggle('On', { default: true, about: 'Whether it is heard.' });
const BYPASS = toggle('Bypass', { about: 'Whether the sound passes it by.' });
const PAN: Parameter = { ...decibels('Pan', [-1, 1], { about: 'Left to right.' }), unit: '', digits: 2 };
const MIX_SHARE = percent('Mix', [0, 100], { default: 100, about: 'Share of the processed sound.' });
const LEVELS = { tracks: level('Level'), groups: level('Fader'), buses: level('Blend') };
const SEND = level('Send');
const TRIM = decibels('Trim', [-60, 24], { about: 'Gain before the mix bus chain.' });

/** What can be moved of one member of a mix. */
interface Owner {
  readonly chain: ChainItems;
  readonly sends: readonly Send[];
  readonly own: Readonly<Record<string, Control>>;
}

const ownerOf = ({ tracks, groups, buses, mixBus, rough }: Mix, id: string): Owner | null => {
  if (id === ROUGH) return rough && { chain: rough.chain, sends: rough.sends, own: {} };
  if (id === MIX_BUS)
    return { chain: mixBus.chain, sends: [], own: { trim: { parameter: TRIM, setting: mixBus.trimDb } } };
  const track = tracks.find((each) => each.id === id);
  if (track) {
    const { chain, sends, gainDb, pan, on } = track;
    const own = {
      level: { parameter: LEVELS.tracks, setting: gainDb },
      pan: { parameter: PAN, setting: pan },
      on: { parameter: ON, setting: on },
    };
    return { chain, sends, own };
  }
  const group = groups.find((each) => each.id === id);
  if (group) {
    const { chain, sends, faderDb, on } = group;
    const own = { level: { parameter: LEVELS.groups, setting: faderDb }, on: { parameter: ON, setting: on } };
    return { chain, sends, own };
  }
  const bus = buses.find((each) => each.id === id);
  if (!bus) return null;
  const { chain, sends, blendDb, on } = bus;
  return {
    chain,
    sends,
    own: { level: { parameter: LEVELS.buses, setting: blendDb }, on: { parameter: ON, setting: on } },
  };
};

/** All ids that lines can name as what they are of. */
const ownerIds = ({ tracks, groups, buses, rough }: Mix): string[] => [
  ...[...tracks, ...groups, ...buses].map(({ id }) => id),
  MIX_BUS,
  ...(rough ? [ROUGH] : []),
];

const parameterControl = ({ processor, settings }: ProcessorItem, name: string): Control | NoControl => {
  const { parameters } = processorOf(processor);
  const parameter = Object.hasOwn(parameters, name) ? parameters[name] : undefined;
  if (!parameter) return { field: 'parameter', expected: Object.keys(parameters) };
  return { parameter, setting: settings[name] ?? parameter.default };
};

const itemControl = ({ chain }: Owner, { what, item: name = '', parameter = '' }: LineTarget): Control | NoControl => {
  const item = itemOf(chain, name);
  const isAsked = (each: ChainItem): boolean => what !== 'parameter' || !isSplit(each);
  if (!item || !isAsked(item))
    return {
      field: 'item',
      expected: allItems(chain)
        .filter(isAsked)
        .map(({ id }) => id),
    };
  if (what === 'bypass') return { parameter: BYPASS, setting: !item.on };
  if (what === 'mix') return { parameter: MIX_SHARE, setting: item.mix };
  return parameterControl(item as ProcessorItem, parameter);
};

/** What a target stands for in a mix, or what is wrong with it. */
export const controlOf = (mix: Mix, target: LineTarget): Control | NoControl => {
  const owner = ownerOf(mix, target.of);
  if (!owner) return { field: 'of', expected: ownerIds(mix) };
  if (target.what === 'parameter' || target.what === 'mix' || target.what === 'bypass')
    return itemControl(owner, target);
  if (target.what === 'send') {
    const send = owner.sends.find(({ to }) => to === target.to);
    if (!send) return { field: 'to', expected: owner.sends.map(({ to }) => to) };
    return { parameter: SEND, setting: send.on ? send.levelDb : CLOSED_DB };
  }
  const own = owner.own[target.what];
  if (own) return own;
  const others = [
    ...(owner.sends.length > 0 ? ['send'] : []),
    ...(owner.chain.length > 0 ? ['parameter', 'mix', 'bypass'] : []),
  ];
  return { field: 'what', expected: [...Object.keys(owner.own), ...others] };
};

export const isControl = (found: Control | NoControl): found is Control => 'parameter' in found;

/** Whether a target is there in a mix. */
export const isThere = (mix: Mix, target: LineTarget): boolean => isControl(controlOf(mix, target));

/**
 * All that a line could name of one member of a mix: what is its own, its sends, then each item of its chain with bypass, mix and
 * parameters (`stillness` tells which of those can move). None where there is no such member.
 */
export const targetsOf = (mix: Mix, of: string): LineTarget[] => {
  const owner = ownerOf(mix, of);
  if (!owner) return [];
  return [
    ...(Object.keys(owner.own) as LineTarget['what'][]).map((what): LineTarget => ({ of, what })),
    ...owner.sends.map(({ to }): LineTarget => ({ of, what: 'send', to })),
    ...allItems(owner.chain).flatMap((each): LineTarget[] => [
      { of, what: 'bypass', item: each.id },
      { of, what: 'mix', item: each.id },
      ...(isSplit(each) ? [] : Object.keys(processorOf(each.processor).parameters)).map((parameter): LineTarget => ({
        of,
        what: 'parameter',
        item: each.id,
        parameter,
      })),
    ]),
  ];
};

/** Names a target: equal text, equal target. */
export const targetText = ({ of, what, to = '', item = '', parameter = '' }: LineTarget): string =>
  [of, what, to, item, parameter].join(' ');

/** The item that a target of a chain is of; undefined for any other. */
export const itemOfTarget = (mix: Mix, { of, item }: LineTarget): ChainItem | undefined =>
  item === undefined ? undefined : itemOf(ownerOf(mix, of)?.chain ?? [], item);

/** Settings of a parameter that stand for all of its range. */
const samplesOf = (parameter: Parameter): readonly Setting[] => {
  if (parameter.kind === 'choice') return parameter.choices;
  return parameter.kind === 'switch' ? [false, true] : [parameter.min, parameter.max];
};

/**
 * Why a parameter of this item cannot be moved while it runs; null: it can. What changes the delay of a processor, or whether it listens to
 * its key input, changes what it is, and so cannot.
 */
export const stillness = (item: ProcessorItem, name: string, sampleRate: number): 'latency' | 'key' | null => {
  const processor = processorOf(item.processor);
  const { parameters } = processor;
  const parameter = parameters[name]!;
  // A note value stands for some time within the range: both ends are tried anyhow.
  const settings = Object.entries(item.settings).filter(
    ([id, setting]) => parameters[id]?.kind !== 'number' || typeof setting === 'number',
  );
  const standing = valuesFrom(parameters, Object.fromEntries(settings));
  const held = samplesOf(parameter).map((setting): Values => ({ ...standing, [name]: valueOf(parameter, setting) }));
  const latency = processor.latency(standing, sampleRate);
  if (held.some((values) => processor.latency(values, sampleRate) !== latency)) return 'latency';
  const listens = processor.listensToKey?.(standing) ?? false;
  return held.some((values) => (processor.listensToKey?.(values) ?? false) !== listens) ? 'key' : null;
};
