import { afterAll, beforeAll, expect, test } from 'vitest';
import { openApp, type OpenApp } from './open-app.ts';
import { expectNull, printFromApp, printFromNode, untilPrintable } from './prints.ts';

let app: OpenApp;

beforeAll(async () => {
  app = await openApp('?demo');
  await untilPrintable(app.page);
});

afterAll(() => app.close());

test('what the app prints and what the command line prints null below -140 dBFS, path by path', async () => {
  const fromNode = await printFromNode('demo-audio/session.json', '--kinds', 'main,stems');
  const fromApp = await printFromApp(app.page, (dialog) => dialog.getByRole('checkbox', { name: /^Stems:/ }).check());
  expect(fromNode.size).toBeGreaterThan(15);
  expectNull(fromApp, fromNode);
});
