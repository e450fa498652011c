import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { setPriority, tmpdir } from 'node:os';
import { join } from 'node:path';
import { spawn } from 'node:child_process';
import { createInterface } from 'node:readline';
import { root } from '../src/cli/ensure-dependencies.mjs';

/** What `progress-reporter.mjs` begins its lines with: the reporter itself can be loaded only once Vitest is installed. */
const PROGRESS_MARK = '\u2063';
/** How far what gives way stands behind (`nice`): of a processor that both want it gets a quarter. */
const GIVES_WAY = 5;

/**
 * @typedef {'browser' | 'e2e' | 'unit' | 'rest'} Lane stages of one lane run one after the other
 * @typedef {{ name: string, error: string }} Failure
 * @typedef {{ passed: number, skipped: number, failures: Failure[] }} Report
 * @typedef {Report & { failed: number, output: string }} Outcome
 * @typedef {{ name: string, group: string, lane: Lane, needsChromium?: boolean, run: () => Promise<Outcome> }} Stage
 */

/**
 * Runs a script of Node; its lines of progress are printed as they come.
 * @param {string[]} args a script and what it is given
 * @param {boolean} givesWay whether others that want a processor get it first
 * @param {Record<string, string>} [env] variables beside those at hand
 * @returns {Promise<{ code: number | null, output: string }>} all that it said beside
 */
function node(args, givesWay, env = {}) {
  return new Promise((resolve) => {
    const colour = process.stdout.isTTY ? { FORCE_COLOR: '1' } : { NO_COLOR: '1' };
    const child = spawn(process.execPath, args, {
      cwd: root,
      env: { ...process.env, ...colour, ...env },
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    // What it starts inherits this. One that could not be started has no number, and says so below.
    if (givesWay && child.pid !== undefined) setPriority(child.pid, GIVES_WAY);
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

/**
 * A static check counts as one test.
 * @param {string} name
 * @param {string[][]} scripts each with what it is given; one after the other, until one fails
 * @returns {Stage}
 */
const check = (name, ...scripts) => ({
  name,
  group: 'static',
  lane: 'rest',
  run: async () => {
    let failed = 0;
    let output = '';
    for (const script of scripts) {
      const { code, output: said } = await node(script, true);
      output += said;
      failed = code === 0 ? 0 : 1;
      if (failed) break;
    }
    return { passed: 1 - failed, failed, skipped: 0, failures: failed ? [{ name, error: output }] : [], output };
  },
});

/**
 * What svelte-check keeps of components that are gone since would be checked as if they were there.
 * @param {Stage} stage @returns {Stage}
 */
const withoutLeftovers = (stage) => ({
  ...stage,
  run: () => {
    rmSync(join(root, '.svelte-check'), { recursive: true, force: true });
    return stage.run();
  },
});

/**
 * @param {string} project a project of vitest.config.ts
 * @param {string[]} filters
 * @param {boolean} [givesWay] as above
 * @returns {Promise<Outcome>}
 */
async function vitest(project, filters, givesWay = false) {
  const folder = mkdtempSync(join(tmpdir(), 'tributary-tests-'));
  const file = join(folder, 'report.json');
  const { code, output } = await node(
    [
      ...['node_modules/vitest/vitest.mjs', 'run', '--project', project, '--allowOnly=false'],
      ...['--reporter=./tests/progress-reporter.mjs', '--silent=passed-only'],
      ...(filters.length > 0 ? ['--passWithNoTests', ...filters] : []),
    ],
    givesWay,
    { TEST_REPORT: file },
  );
  /** @type {Report} */
  let report = { passed: 0, skipped: 0, failures: [] };
  try {
    report = /** @type {Report} */ (JSON.parse(readFileSync(file, 'utf8')));
  } catch {
    // It ended before it could report: the exit code below speaks, and its output says why.
  }
  rmSync(folder, { recursive: true });
  if (code !== 0 && report.failures.length === 0)
    report.failures.push({ name: 'an error outside the tests', error: output });
  return { ...report, failed: report.failures.length, output };
}

/**
 * All that `npm test` does. The lanes of Chromium wait often, for sound that plays in real time and for answers of workers: what only
 * computes runs beside them all the time and gives way, so that no processor idles and they end as if they were alone.
 * @param {string[]} filters parts of file names; only tests in such files are run
 * @returns {Stage[]}
 */
export const stagesFor = (filters) => [
  { name: 'browser', group: 'browser', lane: 'browser', needsChromium: true, run: () => vitest('browser', filters) },
  { name: 'end to end', group: 'e2e', lane: 'e2e', needsChromium: true, run: () => vitest('e2e', filters) },
  { name: 'unit', group: 'unit', lane: 'unit', run: () => vitest('unit', filters, true) },
  { name: 'reference', group: 'reference', lane: 'rest', run: () => vitest('reference', filters, true) },
  // The second reads what the first makes of Svelte files.
  withoutLeftovers(
    check(
      'types',
      [
        'node_modules/svelte-check/bin/svelte-check',
        ...['--tsgo', '--tsconfig', 'tsconfig.json', '--fail-on-warnings', '--output', 'human'],
      ],
      ['node_modules/oxlint/bin/oxlint', '.', '.svelte-check', '--no-ignore'],
    ),
  ),
  check('lint', ['node_modules/eslint/bin/eslint.js', '.', '--max-warnings', '0']),
  check('format', ['node_modules/oxfmt/bin/oxfmt', '--check', '.']),
  check('layers', [
    ...['node_modules/dependency-cruiser/bin/dependency-cruise.mjs', 'src', 'demo-audio', 'tests'],
    ...['--config', 'dependency-cruiser.config.mjs'],
  ]),
];
