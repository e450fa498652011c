// Compiles src/measure/kernels/kernels.as into kernels-binary.ts beside it: `node tests/helpers/build-kernels.mjs`, to be
// run when the source has changed. A test compares the two.
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { root } from '../../src/cli/ensure-dependencies.mjs';

/**
 * What is used of the compiler. Its own types declare the globals of its language (an `at` that is never undefined), which
 * would then hold for the whole project: the name is kept from the type checker.
 * @typedef {{
 *   main(options: string[], io: {
 *     readFile(name: string): string | null,
 *     writeFile(name: string, contents: string | Uint8Array): void,
 *     listFiles(): string[],
 *   }): Promise<{ error: Error | null }>
 * }} Compiler
 */
const COMPILER = ['assemblyscript', 'asc'].join('/');

const folder = join(root, 'src/measure/kernels');

const options = ['-O3', '--noAssert', '--runtime', 'stub', '--importMemory', '--memoryBase', '0', '--enable', 'simd'];

/** Compiles the kernels; the same source gives the same bytes. @returns {Promise<Uint8Array>} */
export async function compileKernels() {
  const { default: asc } = /** @type {{ default: Compiler }} */ (await import(COMPILER));
  const source = readFileSync(join(folder, 'kernels.as'), 'utf8');
  /** @type {Uint8Array | undefined} */
  let binary;
  const { error } = await asc.main(['kernels.ts', ...options, '--outFile', 'kernels.wasm'], {
    readFile: (/** @type {string} */ name) => (name === 'kernels.ts' ? source : null),
    writeFile: (/** @type {string} */ name, /** @type {string | Uint8Array} */ contents) => {
      if (name === 'kernels.wasm' && typeof contents !== 'string') binary = contents;
    },
    listFiles: () => [],
  });
  if (error || !binary) throw new Error(`kernels.as was not compiled: ${error?.message ?? 'nothing was written'}`);
  return binary;
}

if (process.argv[1] === fileURLToPath(import.meta.url)) {
  const text = Buffer.from(await compileKernels()).toString('base64');
  const lines = text.match(/.{1,110}/g) ?? [];
  writeFileSync(
    join(folder, 'kernels-binary.ts'),
    [
      '// Made from kernels.as by tests/helpers/build-kernels.mjs; not to be edited.',
      'export const KERNELS =',
      `${lines.map((line) => `  '${line}'`).join(' +\n')};`,
      '',
    ].join('\n'),
  );
}
