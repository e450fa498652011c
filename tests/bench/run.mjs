// `npm run bench -- NAME`: ratios of run times, ours to others', printed and never asserted.
import { availableParallelism, cpus, loadavg } from 'node:os';
import { runEntry, SetupError } from '../../src/cli/setup-error.mjs';

/** Each is loaded when asked for. @type {Record<string, () => Promise<{ bench: () => Promise<void> }>>} */
const benches = {
  measure: () => import('./measure.mjs'),
  dsp: () => import('./dsp.mjs'),
  blend: () => import('./blend.mjs'),
  drag: () => import('./drag.mjs'),
  listen: () => import('./listen.mjs'),
  song: () => import('./song.mjs'),
  intake: () => import('./intake.mjs'),
  'app-song': () => import('./app-song.mjs'),
};

await runEntry(async () => {
  const names = process.argv.length > 2 ? process.argv.slice(2) : Object.keys(benches);
  for (const name of names) {
    const load = benches[name];
    if (!load) throw new SetupError(`bench: expected some of ${Object.keys(benches).join(', ')}, found "${name}".`);
    const busy = loadavg()[0]?.toFixed(1);
    console.log(`${name}: ${cpus()[0]?.model ?? 'unknown processor'}, ${availableParallelism()} cores, load ${busy}`);
    await (await load()).bench();
  }
}, 1);
