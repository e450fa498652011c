import { DefaultReporter } from 'vitest/node';

/** What a line of progress begins with; the runner (`stages.mjs`) passes these on at once and keeps the rest for the end. */
const PROGRESS_MARK = '\u2063';
/** A file that takes longer is named while it runs, again and again after so long, ms. */
const STILL_RUNNING_MS = 20_000;

/** @typedef {import('vitest/node').TestModule} TestModule */

/** @param {number} ms */
const seconds = (ms) => `${(ms / 1000).toFixed(1)} s`;

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
