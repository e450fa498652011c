// What a whole song is to take at most, and whether it does: figures that this project sets itself, for the reference song on two cores.
import { SIZE } from './made-song.mjs';

/** A gigabyte in MB as memory is counted here, 1024 kB each. */
const MB_OF_GB = 1000 ** 3 / 1024 ** 2;
const REFERENCE = { seconds: 240, tracks: 32, groups: 12, buses: 14 };

/** Renderer of the app: 1.5 GB up to 4 minutes, 2 GB above, MB. */
const rendererMemory = MB_OF_GB * (SIZE.seconds > REFERENCE.seconds ? 2 : 1.5);
/** What rendering and measuring all takes, parts of the song's length, holds for no larger a set of chains. */
const isAsLarge = SIZE.tracks <= REFERENCE.tracks && SIZE.groups <= REFERENCE.groups && SIZE.buses <= REFERENCE.buses;

export const WANTED = {
  placed: { what: 'files can be placed', most: 2, unit: 's' },
  rough: { what: 'rough can be heard', most: 2, unit: 's' },
  mix: { what: 'mix can be heard', most: 6, unit: 's' },
  measured: { what: 'all rendered and measured', most: isAsLarge ? 0.6 * SIZE.seconds : Infinity, unit: 's' },
  rendererMemory: { what: "the renderer's memory", most: rendererMemory, unit: 'MB' },
  printMemory: { what: "the print's memory", most: MB_OF_GB, unit: 'MB' },
  received: { what: 'files checked and the rough explained, one core', most: 0.5 * SIZE.seconds, unit: 's' },
  receivedMemory: { what: 'the memory of that', most: rendererMemory, unit: 'MB' },
  twoCores: { what: 'one core against two', least: 1.8, unit: 'times as long' },
  knob: { what: 'from a knob to the sound, beside the context', most: 60, unit: 'ms' },
  lateStretches: { what: 'stretches that came too late', most: 0, unit: 'times' },
  loopFigures: { what: 'figures of the loop after a move', most: 1, unit: 's' },
  longTasks: { what: 'tasks over 50 ms, playing and turning', most: 2, unit: 'a minute' },
  growth: { what: 'memory, last quarter against the one before', most: 3, unit: '%' },
  unlikeFiles: { what: 'prints that differ with the number of cores', most: 0, unit: 'files' },
};

/** @typedef {{ what: string, most?: number, least?: number, unit: string }} Wanted */

/** @param {Wanted} wanted @param {number} value */
export const isMet = ({ most = Infinity, least = -Infinity }, value) => value <= most && value >= least;

/** @param {Wanted} wanted @param {number} value */
export function verdictLine(wanted, value) {
  const { what, most = Infinity, least, unit } = wanted;
  const digits = ['MB', 'files', 'ms', 'times'].includes(unit) ? 0 : 2;
  const bound = least === undefined ? `at most ${most.toFixed(digits)}` : `at least ${least.toFixed(digits)}`;
  const line = `  ${what.padEnd(44)}${value.toFixed(digits).padStart(8)} ${unit}`;
  if (least === undefined && most === Infinity) return `${line}, nothing wanted of a song of this size`;
  return `${line}, wanted ${bound}: ${isMet(wanted, value) ? 'met' : 'NOT MET'}`;
}

/** @param {readonly (readonly [Wanted, number])[]} found */
export function tellVerdicts(found) {
  console.log('  wanted of the reference song on two cores, otherwise idle:');
  for (const [wanted, value] of found) console.log(verdictLine(wanted, value));
  const missed = found.filter(([wanted, value]) => !isMet(wanted, value)).length;
  console.log(`  ${found.length - missed} of ${found.length} met`);
}
