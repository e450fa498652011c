import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';

/** A temporary folder that is removed after the tests of a file, and a function that writes a file into it and returns its path. */
export const scratchFolder = (name: string) => {
  const folder = mkdtempSync(join(tmpdir(), `tributary-${name}-`));
  afterAll(() => rmSync(folder, { recursive: true }));
  return {
    folder,
    write: (file: string, bytes: Uint8Array): string => {
      const path = join(folder, file);
      writeFileSync(path, bytes);
      return path;
    },
  };
};
