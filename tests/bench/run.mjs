// `npm run bench -- NAME`: ratios of run times, ours to others', printed and never asserted.
import { availableParallelism, cpus, loadavg } from 'node:os';
import { parseArgs } from 'node:util';
import { runEntry, SetupError } from '../../src/cli/setup-error.mjs';

/** Each is loaded when asked for. @type {Record<string, () => Promise<{ bench: () => Promise<void> }>>} */
const benches = {
  measure: () => import('./measure.mjs'),
  dsp: () => import('./dsp.mjs'),
  blend: () => import('./blend.mjs'),
  drag: () => import('./drag.mjs'),
  listen: () => import('./listen.mjs'),
  stay: () => import('./stay.mjs'),
  song: () => import('./song.mjs'),
  intake: () => import('./intake.mjs'),
  'app-song': () => import('./app-song.mjs'),
};

/** Size of the made song: what an option stands for. @type {Record<string, (value: number) => [string, number]>} */
const sizes = {
  minutes: (value) => ['SONG_SECONDS', 60 * value],
  tracks: (value) => ['SONG_TRACKS', value],
  groups: (value) => ['SONG_GROUPS', value],
  buses: (value) => ['SONG_BUSES', value],
};

/** Takes the options, and returns the names of the benches. */
function readArguments() {
  const options = Object.fromEntries(
    Object.keys(sizes).map((name) => [name, { type: /** @type {const} */ ('string') }]),
  );
  const { values, positionals } = parseArgs({ options, allowPositionals: true, strict: false });
  for (const [name, text] of Object.entries(values)) {
    const size = sizes[name];
    if (!size) throw new SetupError(`bench: expected some of --${Object.keys(sizes).join(', --')}, found "--${name}".`);
    const value = Number(text);
    if (!(value > 0)) throw new SetupError(`bench: --${name} needs a number above 0, found "${text}".`);
    const [variable, number] = size(value);
    process.env[variable] = String(number);
  }
  return positionals.length > 0 ? positionals : Object.keys(benches);
}

await runEntry(async () => {
  const names = readArguments();
  for (const name of names) {
    const load = benches[name];
    if (!load) throw new SetupError(`bench: expected some of ${Object.keys(benches).join(', ')}, found "${name}".`);
    const busy = loadavg()[0]?.toFixed(1);
    console.log(`${name}: ${cpus()[0]?.model ?? 'unknown processor'}, ${availableParallelism()} cores, load ${busy}`);
    await (await load()).bench();
  }
}, 1);
