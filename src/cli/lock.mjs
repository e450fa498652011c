import { readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { setTimeout as sleep } from 'node:timers/promises';

/** A lock older than this (ms) was left by a process that has ended, whatever runs under its process id now. */
const OLDEST = 15 * 60_000;

/** @param {string} file */
function isAbandoned(file) {
  try {
    const tooOld = Date.now() - statSync(file).mtimeMs > OLDEST;
    const holder = Number(readFileSync(file, 'utf8'));
    // An empty file belongs to a process that is about to write its process id.
    if (tooOld || holder === 0) return tooOld;
    process.kill(holder, 0);
    return false;
  } catch (error) {
    // ESRCH: no such process. Anything else (not ours to signal, just released) is settled by the next try.
    return /** @type {NodeJS.ErrnoException} */ (error).code === 'ESRCH';
  }
}

/** @param {string} file */
function take(file) {
  try {
    writeFileSync(file, String(process.pid), { flag: 'wx' });
    return true;
  } catch (error) {
    if (/** @type {NodeJS.ErrnoException} */ (error).code === 'EEXIST') return false;
    throw error;
  }
}

/**
 * Runs `work` while no other process holds the same lock file; waits for its turn.
 * @template T
 * @param {string} file
 * @param {() => Promise<T>} work
 * @returns {Promise<T>}
 */
export async function withLock(file, work) {
  while (!take(file)) {
    if (isAbandoned(file)) rmSync(file, { force: true });
    else await sleep(100);
  }
  const release = () => rmSync(file, { force: true });
  process.once('exit', release);
  try {
    return await work();
  } finally {
    process.off('exit', release);
    release();
  }
}
