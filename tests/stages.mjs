import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join, relative } from 'node:path';
import { spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import { root } from '../src/cli/ensure-dependencies.mjs';

/** What `progress-reporter.mjs` begins its lines with: the reporter itself can be loaded only once Vitest is installed. */
const PROGRESS_MARK = '\u2063';

/**
 * @typedef {{ passed: number, failed: number, skipped: number, failures: string[], output: string }} Outcome
 * @typedef {{ name: string, group: string, needsChromium?: boolean, run: () => Promise<Outcome> }} Stage
 */

/**
 * Runs a script of Node; its lines of progress are printed as they come.
 * @param {string[]} args a script and what it is given
 * @returns {Promise<{ code: number | null, output: string }>} all that it said beside
 */
function node(args) {
  return new Promise((resolve) => {
    const colour = process.stdout.isTTY ? { FORCE_COLOR: '1' } : { NO_COLOR: '1' };
    const child = spawn(process.execPath, args, {
      cwd: root,
      env: { ...process.env, ...colour },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    /** @type {string[]} */
    const output = [];
    for (const input of [child.stdout, child.stderr])
      createInterface({ input }).on('line', (line) => {
        if (line.startsWith(PROGRESS_MARK)) console.log(line.slice(PROGRESS_MARK.length));
        else output.push(line);
      });
    child.on('close', (code) => resolve({ code, output: output.join('\n') }));
  });
}

/** A static check counts as one test. @param {string} name @param {string[]} args @returns {Stage} */
const check = (name, args) => ({
  name,
  group: 'static',
  run: async () => {
    const { code, output } = await node(args);
    const failed = code === 0 ? 0 : 1;
    return { passed: 1 - failed, failed, skipped: 0, failures: failed ? ['see its output'] : [], output };
  },
});

/**
 * @typedef {{ status: string, fullName: string }} Assertion
 * @typedef {{ name: string, status: string, assertionResults: Assertion[] }} File
 * @param {string} report path of Vitest's report in JSON
 */
function readReport(report) {
  const {
    testResults: files,
    numPassedTests,
    numPendingTests,
    numTodoTests,
  } = JSON.parse(readFileSync(report, 'utf8'));
  const failures = /** @type {File[]} */ (files).flatMap((file) => {
    const place = relative(root, file.name);
    const failed = file.assertionResults.filter(({ status }) => status === 'failed');
    // A file that cannot even be loaded, or whose set-up fails, has failed without a failed test.
    if (file.status === 'failed' && failed.length === 0) return [`${place}: the file as a whole`];
    return failed.map(({ fullName }) => `${place}: ${fullName}`);
  });
  return { passed: numPassedTests, skipped: numPendingTests + numTodoTests, failures };
}

/** @param {string} project a project of vitest.config.ts @param {string[]} filters @returns {Promise<Outcome>} */
async function vitest(project, filters) {
  const folder = mkdtempSync(join(tmpdir(), 'tributary-tests-'));
  const report = join(folder, 'report.json');
  const { code, output } = await node([
    ...['node_modules/vitest/vitest.mjs', 'run', '--project', project, '--allowOnly=false'],
    ...[
      '--reporter=./tests/progress-reporter.mjs',
      '--reporter=json',
      '--silent=passed-only',
      `--outputFile.json=${report}`,
    ],
    ...(filters.length > 0 ? ['--passWithNoTests', ...filters] : []),
  ]);
  let counts = { passed: 0, skipped: 0, failures: /** @type {string[]} */ ([]) };
  try {
    counts = readReport(report);
  } catch {
    // It ended before it could report: the exit code below speaks, and its output says why.
  }
  rmSync(folder, { recursive: true });
  if (code !== 0 && counts.failures.length === 0) counts.failures.push('an error outside the tests, see its output');
  return { ...counts, failed: counts.failures.length, output };
}

/**
 * All that `npm test` does, the longest first; the two that play sound in Chromium are not to run at once.
 * @param {string[]} filters parts of file names; only tests in such files are run
 * @returns {Stage[]}
 */
export const stagesFor = (filters) => [
  { name: 'unit', group: 'unit', run: () => vitest('unit', filters) },
  { name: 'browser', group: 'browser', needsChromium: true, run: () => vitest('browser', filters) },
  { name: 'reference', group: 'reference', run: () => vitest('reference', filters) },
  check('types', ['node_modules/svelte-check/bin/svelte-check', '--fail-on-warnings', '--output', 'human']),
  check('lint', ['node_modules/eslint/bin/eslint.js', '.', '--max-warnings', '0']),
  check('format', ['node_modules/prettier/bin/prettier.cjs', '.', '--check', '--log-level', 'warn']),
  check('layers', [
    ...['node_modules/dependency-cruiser/bin/dependency-cruise.mjs', 'src', 'demo-audio', 'tests'],
    ...['--config', 'dependency-cruiser.config.mjs'],
  ]),
  { name: 'end to end', group: 'e2e', needsChromium: true, run: () => vitest('e2e', filters) },
];
