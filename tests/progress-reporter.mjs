import { writeFileSync } from 'node:fs';
import { DefaultReporter } from 'vitest/node';

/** What a line of progress begins with; the runner (`stages.mjs`) passes these on at once and keeps the rest for the end. */
const PROGRESS_MARK = '\u2063';
/** A file that takes longer is named while it runs, again and again after so long, ms. */
const STILL_RUNNING_MS = 20_000;

/** Where the counts and failures go, as JSON (`Report` in `stages.mjs`). */
const REPORT = process.env['TEST_REPORT'];

/**
 * @typedef {import('vitest/node').TestModule} TestModule
 * @typedef {import('vitest/node').SerializedError} SerializedError
 */

/** @param {number} ms */
const seconds = (ms) => `${(ms / 1000).toFixed(1)} s`;

/** What an error says, with its difference and what caused it. @param {SerializedError} error @returns {string} */
const inWords = ({ message, diff, stack, cause }) => {
  const place = /[^\s(]*\btests\/\S+:\d+:\d+/.exec(stack ?? '')?.[0];
  const lines = [message, ...(typeof diff === 'string' ? [diff] : []), ...(place ? [`at ${place}`] : [])];
  return cause ? `${lines.join('\n')}\nbecause: ${inWords(cause)}` : lines.join('\n');
};

/** @param {TestModule} testModule @returns {import('./stages.mjs').Failure[]} */
const failuresIn = (testModule) => {
  const file = testModule.relativeModuleId;
  const tests = [...testModule.children.allTests('failed')].map((test) => ({
    name: `${file}: ${test.fullName}`,
    error: (test.result().errors ?? []).map(inWords).join('\n'),
  }));
  // A file that cannot even be loaded, or whose set-up fails, has failed without a failed test.
  const beside = [testModule, ...testModule.children.allSuites()].flatMap((part) => part.errors());
  if (beside.length > 0) tests.push({ name: `${file}: outside its tests`, error: beside.map(inWords).join('\n') });
  return tests;
};

/** One line for every file as it ends, with its counts and time, and one for what takes long while it runs. */
export default class ProgressReporter extends DefaultReporter {
  /** @type {Map<string, number>} start of each file that runs now, ms */
  #running = new Map();
  /** @type {NodeJS.Timeout | undefined} */
  #timer;

  constructor() {
    super({ summary: false, isTTY: false });
  }

  /** @override @param {Parameters<DefaultReporter['onTestRunStart']>[0]} specifications */
  onTestRunStart(specifications) {
    super.onTestRunStart(specifications);
    this.#timer = setInterval(() => {
      for (const [file, start] of this.#running)
        this.#tell(`  … ${file} has run for ${seconds(performance.now() - start)}`);
    }, STILL_RUNNING_MS).unref();
  }

  /** @override @param {Parameters<DefaultReporter['onTestRunEnd']>} ended */
  onTestRunEnd(...ended) {
    clearInterval(this.#timer);
    super.onTestRunEnd(...ended);
    const [testModules, unhandled] = ended;
    if (REPORT !== undefined) writeFileSync(REPORT, JSON.stringify(this.#report(testModules, unhandled)));
  }

  /**
   * @param {readonly TestModule[]} testModules
   * @param {readonly SerializedError[]} unhandled
   * @returns {import('./stages.mjs').Report}
   */
  #report(testModules, unhandled) {
    const tests = testModules.flatMap(({ children }) => [...children.allTests()]);
    /** @param {string} wanted */
    const count = (wanted) => tests.filter((test) => test.result().state === wanted).length;
    const outside = unhandled.map((error) => ({ name: 'an error outside the tests', error: inWords(error) }));
    return {
      passed: count('passed'),
      skipped: count('skipped'),
      failures: [...testModules.flatMap(failuresIn), ...outside],
    };
  }

  /** @param {TestModule} testModule */
  onTestModuleStart({ relativeModuleId }) {
    this.#running.set(relativeModuleId, performance.now());
  }

  /** @override @param {TestModule} testModule */
  printTestModule(testModule) {
    const file = testModule.relativeModuleId;
    const tests = [...testModule.children.allTests()];
    const failed = tests.filter((test) => test.result().state === 'failed').length;
    const sign = testModule.ok() ? '✓' : '✗';
    const counts = failed > 0 ? `${failed} of ${tests.length} tests failed` : `${tests.length} tests`;
    const { duration } = testModule.diagnostic();
    this.#running.delete(file);
    this.#tell(`  ${sign} ${file.replace(/^tests\//, '')} (${counts}) ${seconds(duration)}`);
  }

  /** @param {string} line */
  #tell(line) {
    this.log(`${PROGRESS_MARK}${line}`);
  }
}
