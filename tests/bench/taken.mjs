import { spawn } from 'node:child_process';
import { root } from '../../src/cli/ensure-dependencies.mjs';
import { LOOK_MS, memoryOf, processorOf } from './made-song.mjs';

/**
 * Runs a command to its end; how long it took, s, of the clock and of the processor, and the most memory it held, MB.
 * @param {string} program @param {string[]} args @returns {Promise<{ seconds: number, processor: number, peak: number }>}
 */
export function taken(program, args) {
  return new Promise((resolve, reject) => {
    const start = performance.now();
    const child = spawn(program, args, { cwd: root, stdio: ['ignore', 'ignore', 'inherit'] });
    let [peak, processor] = [0, 0];
    const look = setInterval(() => {
      peak = Math.max(peak, memoryOf(child.pid ?? 0, 'status', 'VmHWM'));
      processor = Math.max(processor, processorOf(child.pid ?? 0));
    }, LOOK_MS);
    child.on('error', reject);
    child.on('close', (code) => {
      clearInterval(look);
      // 1: a guard was not kept, which is not asked about here.
      if (code !== null && code < 2) resolve({ seconds: (performance.now() - start) / 1000, processor, peak });
      else reject(new Error(`${program} ${args.join(' ')} ended with ${code}`));
    });
  });
}
