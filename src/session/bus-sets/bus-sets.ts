import type { BusSet } from './bus-set.ts';
import { presets } from '../presets/presets.ts';
import { busSetFrom } from '../presets/read-preset.ts';

// Adding a bus set is adding a file. One that is wrong ends the program at once, so no test run can miss it.
const files = import.meta.glob<unknown>('../../../presets/bus-sets/*.json', { eager: true, import: 'default' });

const presetNames = presets.map(({ name }) => name);

/** All bus sets, in the order of their names. */
export const busSets: readonly BusSet[] = Object.entries(files)
  .map(([path, json]) => busSetFrom(json, path.replace('../../../', ''), presetNames))
  .sort((a, b) => a.name.localeCompare(b.name, 'en'));
