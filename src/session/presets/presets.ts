import type { Preset } from './preset.ts';
import { presetFrom } from './read-preset.ts';

// Adding a preset is adding a file. One that is wrong ends the program at once, so no test run can miss it.
const files = import.meta.glob<unknown>('../../../presets/*.json', { eager: true, import: 'default' });

/** All presets, in the order of their names. */
export const presets: readonly Preset[] = Object.entries(files)
  .map(([path, json]) => presetFrom(json, path.replace('../../../', '')))
  .sort((a, b) => a.name.localeCompare(b.name, 'en'));

const plain = (name: string): string =>
  name
    .trim()
    .toLowerCase()
    .replace(/[\s_-]+/g, ' ');

/** The preset of this name; capitals, hyphens and spare blanks do not matter. undefined: there is none. */
export const presetByName = (name: string): Preset | undefined =>
  presets.find((preset) => plain(preset.name) === plain(name));
