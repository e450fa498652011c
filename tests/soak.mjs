// `npm run soak [-- --rounds 20]`: the tests that draw cases again and again, each round with others and with many more than
// `npm test` tries (tests/helpers/soak.ts), until one fails; the prints of the whole demo song too. The law of the app (what
// was edited shows what a fresh opening shows) runs in Chromium, with many sequences of edits a round.
import { spawnSync } from 'node:child_process';
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { ensureDependencies, requireNode, root } from '../src/cli/ensure-dependencies.mjs';
import { runEntry, SetupError } from '../src/cli/setup-error.mjs';
import { findChromium } from './find-chromium.mjs';

const USUAL_ROUNDS = 20;

/** Sequences of edits that a round tries. */
const SEQUENCES = '25';

/** @param {string | undefined} text */
function roundsFrom(text) {
  const rounds = text === undefined ? USUAL_ROUNDS : Number(text);
  if (Number.isInteger(rounds) && rounds > 0) return rounds;
  throw new SetupError(`--rounds: expected a whole number from 1 up, found "${text}".`);
}

/** Files of the tests that draw cases: by fast-check, or as many as tests/helpers/soak.ts says; the law has its own folder. */
const drawingTests = () =>
  readdirSync(join(root, 'tests'), { recursive: true, encoding: 'utf8' })
    .filter((file) => file.endsWith('.test.ts'))
    .map((file) => join('tests', file))
    .filter((file) => /'fast-check'|\/(soak|corners|demo-parts)\.ts'/.test(readFileSync(join(root, file), 'utf8')));

await runEntry(async () => {
  requireNode();
  const { values } = parseArgs({ options: { rounds: { type: 'string' } } });
  const rounds = roundsFrom(values.rounds);
  await ensureDependencies(console.log);
  process.env['CHROMIUM_PATH'] = await findChromium(console.log);
  const files = [...new Set([...drawingTests(), join('tests', 'browser', 'law')])];
  const projects = ['unit', 'reference', 'browser', 'e2e'].flatMap((project) => ['--project', project]);
  const vitest = [join(root, 'node_modules/vitest/vitest.mjs'), 'run', ...projects];
  for (let round = 1; round <= rounds; round++) {
    const start = performance.now();
    const env = { ...process.env, SOAK_ROUND: String(round), VITE_LAW_RUNS: SEQUENCES, VITE_LAW_EACH: 'yes' };
    const { status, stdout } = spawnSync(process.execPath, [...vitest, ...files], { cwd: root, env, encoding: 'utf8' });
    const seconds = ((performance.now() - start) / 1000).toFixed(0);
    console.log(
      `round ${round} of ${rounds}: ${files.length} files, ${seconds} s, ${status === 0 ? 'passed' : 'FAILED'}`,
    );
    if (status === 0) continue;
    console.log(stdout);
    throw new SetupError('A property does not hold: the seed that finds it again stands above.');
  }
}, 1);
