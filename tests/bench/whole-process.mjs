import { spawn, spawnSync } from 'node:child_process';

/** Whether a program is there at all. @param {string} program */
export const isThere = (program) => spawnSync(program, ['-version'], { stdio: 'ignore' }).error === undefined;

/**
 * Seconds that a command takes from start to end, its output thrown away.
 * @param {string} program @param {string[]} args @returns {Promise<number>}
 */
export function secondsOf(program, args) {
  return new Promise((resolve, reject) => {
    const start = performance.now();
    const child = spawn(program, args, { stdio: 'ignore' });
    child.on('error', reject);
    child.on('close', (code) => {
      if (code === 0) resolve((performance.now() - start) / 1000);
      else reject(new Error(`${program} ${args.join(' ')} ended with ${code}`));
    });
  });
}

/** @param {number[]} values */
export const medianOf = (values) => [...values].sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? NaN;

/**
 * Runs commands in turn, so that what else the machine does meets all of them, and returns the seconds of each turn.
 * @param {(() => Promise<number>)[]} commands @param {number} turns @returns {Promise<number[][]>}
 */
export async function inTurn(commands, turns) {
  /** @type {number[][]} */
  const seconds = commands.map(() => []);
  for (const command of commands) await command(); // once before, so that files and programs are in memory
  for (let turn = 0; turn < turns; turn++) {
    for (const [n, command] of commands.entries()) seconds[n]?.push(await command());
  }
  return seconds;
}
