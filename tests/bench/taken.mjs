import { spawn } from 'node:child_process';
import { root } from '../../src/cli/ensure-dependencies.mjs';
import { LOOK_MS, memoryOf } from './made-song.mjs';

/**
 * Runs a command to its end; how long it took, s, and the most memory it held, MB.
 * @param {string} program @param {string[]} args @returns {Promise<{ seconds: number, peak: number }>}
 */
export function taken(program, args) {
  return new Promise((resolve, reject) => {
    const start = performance.now();
    const child = spawn(program, args, { cwd: root, stdio: ['ignore', 'ignore', 'inherit'] });
    let peak = 0;
    const look = setInterval(() => (peak = Math.max(peak, memoryOf(child.pid ?? 0, 'status', 'VmHWM'))), LOOK_MS);
    child.on('error', reject);
    child.on('close', (code) => {
      clearInterval(look);
      // 1: a guard was not kept, which is not asked about here.
      if (code !== null && code < 2) resolve({ seconds: (performance.now() - start) / 1000, peak });
      else reject(new Error(`${program} ${args.join(' ')} ended with ${code}`));
    });
  });
}
