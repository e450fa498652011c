import type { Parameter, Setting, Settings } from '../dsp/parameter.ts';
import { processorOf } from '../dsp/registry.ts';
import type { ChainItem } from './schema.ts';

/** A setting as it is read aloud: "-18.0 dB", "4.0:1", "1/8 dotted", "on". */
export const settingText = (parameter: Parameter, setting: Setting): string => {
  if (parameter.kind === 'switch') return setting === true ? 'on' : 'off';
  if (parameter.kind === 'choice' || typeof setting !== 'number') return String(setting);
  const { unit, digits } = parameter;
  return `${setting.toFixed(digits)}${unit === '' || unit === ':1' ? unit : ` ${unit}`}`;
};

/** Groups of parameters that a switch of their own, called "….on", has switched off. */
const groupsOff = (parameters: Readonly<Record<string, Parameter>>, settings: Settings): Set<string | undefined> =>
  new Set(
    Object.entries(parameters)
      .filter(([id, parameter]) => id.endsWith('.on') && (settings[id] ?? parameter.default) === false)
      .map(([, { group }]) => group),
  );

/**
 * All settings of one processor, the defaults too, one line for each group of parameters: enough to set it again by
 * hand. Groups that are switched off are left out.
 */
export const settingLines = ({ processor, settings }: ChainItem): string[] => {
  const { parameters } = processorOf(processor);
  const off = groupsOff(parameters, settings);
  const lines = new Map<string, string[]>();
  for (const [id, parameter] of Object.entries(parameters)) {
    const { group = '', label } = parameter;
    if ((group !== '' && off.has(group)) || id.endsWith('.on')) continue;
    const text = `${label.toLowerCase()} ${settingText(parameter, settings[id] ?? parameter.default)}`;
    lines.set(group, [...(lines.get(group) ?? []), text]);
  }
  return [...lines].map(([group, texts]) =>
    (group === '' ? texts : [`${group}: ${texts[0]!}`, ...texts.slice(1)]).join(', '),
  );
};

/** Name of a processor as a recall sheet calls it; one that is switched off says so. */
export const itemTitle = ({ processor, on }: ChainItem): string =>
  `${processorOf(processor).label}${on ? '' : ' (off)'}`;
