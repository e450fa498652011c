import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { PATH_DEFINITIONS } from '../../src/blend/ledger/path-definitions.ts';
import { plain, table } from '../../src/files/markdown.ts';
import { DEFINITIONS } from '../../src/measure/definitions.ts';

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
