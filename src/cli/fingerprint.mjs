import { createHash } from 'node:crypto';
import { readdirSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { root } from './ensure-dependencies.mjs';

/**
 * Every file under `path` (relative to the project), `except` left out.
 * @param {string} path
 * @param {readonly string[]} except
 * @returns {string[]}
 */
function filesUnder(path, except) {
  if (except.includes(path)) return [];
  const stat = statSync(join(root, path), { throwIfNoEntry: false });
  if (!stat) return [];
  if (!stat.isDirectory()) return [path];
  return readdirSync(join(root, path)).flatMap((name) => filesUnder(`${path}/${name}`, except));
}

/**
 * A short text that changes when one of the files is added, removed, or written again.
 * @param {readonly string[]} paths files and folders, relative to the project
 * @param {readonly string[]} except
 */
export function fingerprint(paths, except = []) {
  const hash = createHash('sha256');
  for (const file of paths.flatMap((path) => filesUnder(path, except)).sort()) {
    const stat = statSync(join(root, file), { throwIfNoEntry: false });
    hash.update(`${file}\0${stat?.size}\0${stat?.mtimeMs}\n`);
  }
  return hash.digest('hex').slice(0, 16);
}
