import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, symlinkSync } from 'node:fs';
import { resolve } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { PATH_DEFINITIONS } from '../../src/blend/ledger/path-definitions.ts';
import { plain, table } from '../../src/files/report/markdown.ts';
import { DEFINITIONS } from '../../src/measure/definitions/definitions.ts';
import { joined, mono, pinkNoise, stereo } from '../helpers/signals.ts';
import { run, Workplace } from './command.ts';
import { writeShortDemo } from './short-demo.ts';

const FILE = new URL('../../README.md', import.meta.url);
const BLOCK = /(<!-- figures: made from the registry -->\n)[\s\S]*?(\n<!-- figures end -->)/;

const rows = Object.values({ ...DEFINITIONS, ...PATH_DEFINITIONS }).map(({ label, unit, definition, source }) => [
  unit === '' ? label : `${label}, ${unit}`,
  plain(definition),
  plain(source),
]);

// Written anew by: npx vitest run --project unit tests/cli/readme.test.ts -u
test('the table of figures in README is that of the registry', async () => {
  const readme = readFileSync(FILE, 'utf8');
  expect(readme).toMatch(BLOCK);
  const made = table([['figure', 'definition', 'source'], ...rows], []).trim();
  await expect(
    readme.replace(BLOCK, (_, before: string, after: string) => `${before}\n${made}\n${after}`),
  ).toMatchFileSnapshot(FILE.pathname);
});

/** Blocks of code in the pages for readers: where they stand, their language, and the code. */
const blocks = ['README.md', 'DEVELOPERS.md'].flatMap((page) =>
  [...readFileSync(page, 'utf8').matchAll(/^```(\w*)\n([\s\S]*?)^```$/gm)].map(([, language, code], n) => ({
    name: `${page}, block ${n + 1}`,
    language: language!,
    code: code!,
  })),
);

/** Words of a shell line, without its comment: parts in double quotes are one word. */
const wordsOf = (line: string): string[] =>
  [...line.replace(/\s#.*$/, '').matchAll(/"([^"]*)"|(\S+)/g)].map(([, quoted, bare]) => quoted ?? bare!);

const shellLines = blocks
  .filter(({ language }) => language === 'sh')
  .flatMap(({ code }) => code.trim().split('\n'))
  .map((line) => ({ line, words: wordsOf(line) }));
const commands = shellLines.filter(({ words }) => words.slice(0, 4).join(' ') === 'npm run -s tributary');

describe('what stands in README and DEVELOPERS runs as it stands there', () => {
  const place = new Workplace();
  const sounds = ['other.flac', 'drums.wav', 'mix.wav'];

  /** A folder that depends on the package by its path, with a few seconds of the demo and the sounds that are named. */
  beforeAll(async () => {
    // A file is known by what is in it, not by its name.
    for (const name of sounds) place.writeAudio(name, stereo(pinkNoise(2.7, 1), pinkNoise(2.7, 2)));
    // Sections of it are asked for, up to one minute: noise of 2.7 s again and again.
    place.writeAudio('song.wav', mono(joined(...Array.from({ length: 23 }, () => pinkNoise(2.7, 3)))));
    place.write('notes.txt', '0:01 vocal up a little\nMore width, please\n');
    await writeShortDemo(place.folder);
    mkdirSync(place.path('node_modules'));
    // What npm makes of a dependency on `file:`.
    symlinkSync(resolve('.'), place.path('node_modules/tributary'));
  });

  /** Runs a command line from that folder, in this process: that it also runs as one of its own stands in process.test.ts. */
  const inFolder = async (args: readonly string[]) => {
    const before = process.cwd();
    process.chdir(place.folder);
    try {
      return await run(...args);
    } finally {
      process.chdir(before);
    }
  };

  test('every block is of a kind that is run here', () => {
    expect(blocks.map(({ language }) => language).filter((language) => !['sh', 'js'].includes(language))).toEqual([]);
    expect(commands.length).toBeGreaterThan(8);
  });

  test.each(shellLines.filter((line) => !commands.includes(line)))('$line: a script of package.json', ({ words }) => {
    const { scripts } = JSON.parse(readFileSync('package.json', 'utf8')) as { scripts: Record<string, string> };
    expect(words[0]).toBe('npm');
    expect(Object.keys(scripts)).toContain(words[1] === 'run' ? words[2] : words[1]);
  });

  test.each(commands)('$line', async ({ words }) => {
    const { code, out, err } = await inFolder(words.slice(5));
    // Exit 1 is an answer too: a guard or a target that some seconds of the demo do not keep.
    expect([0, 1], err).toContain(code);
    expect(err).toBe('');
    expect(out.length).toBeGreaterThan(100);
  });

  test.each(blocks.filter(({ language }) => language === 'js'))('$name', ({ code }) => {
    place.write('script.mjs', code);
    const { status, stdout, stderr } = spawnSync(process.execPath, ['script.mjs'], {
      cwd: place.folder,
      encoding: 'utf8',
    });
    expect([status, stderr]).toEqual([0, '']);
    expect(stdout).toContain('drum-squeeze: ');
    expect(place.list('from-a-script').filter((name) => name.endsWith('.wav')).length).toBeGreaterThan(10);
  });
});
