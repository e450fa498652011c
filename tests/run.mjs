// `npm test`: installs what is missing, then runs the static checks and all tests in lanes side by side: stages wait too.
//   npm test -- --only unit,browser     some stages: unit, reference, browser, e2e, static
//   npm test -- tests/dsp               only tests in files of such a name
import { ensureDependencies, requireNode } from '../src/cli/ensure-dependencies.mjs';
import { runEntry, SetupError } from '../src/cli/setup-error.mjs';
import { findChromium } from './find-chromium.mjs';
import { stagesFor } from './stages.mjs';

/** Lines of an error that the summary repeats. */
const ERROR_LINES = 30;

const groups = ['unit', 'reference', 'browser', 'e2e', 'static'];

/** @typedef {import('./stages.mjs').Stage} Stage @typedef {import('./stages.mjs').Outcome} Outcome */

async function chosenStages() {
  const { parseArgs } = await import('node:util');
  const { values, positionals } = parseArgs({ allowPositionals: true, options: { only: { type: 'string' } } });
  const wanted = values.only?.split(',') ?? groups;
  const unknown = wanted.find((group) => !groups.includes(group));
  if (unknown !== undefined) throw new SetupError(`--only: expected some of ${groups.join(', ')}, found "${unknown}".`);
  return stagesFor(positionals).filter(({ group }) => wanted.includes(group));
}

/** Sets CHROMIUM_PATH for the stages to come. @returns {Promise<string | undefined>} what is wrong */
async function provideChromium() {
  try {
    process.env['CHROMIUM_PATH'] = await findChromium(console.log);
    return undefined;
  } catch (error) {
    if (error instanceof SetupError) return error.message;
    throw error;
  }
}

/** @param {Stage} stage @param {string | undefined} noChromium @returns {Promise<Outcome>} */
async function runStage({ name, needsChromium, run }, noChromium) {
  const start = performance.now();
  console.log(`${name} begins`);
  const outcome =
    needsChromium && noChromium !== undefined
      ? { passed: 0, failed: 1, skipped: 0, failures: [{ name: 'no Chromium', error: noChromium }], output: '' }
      : await run();
  const { passed, failed, skipped } = outcome;
  const seconds = ((performance.now() - start) / 1000).toFixed(1);
  const counts = `${passed} passed, ${failed} failed, ${skipped} skipped`;
  console.log(`${name.padEnd(12)}${counts.padEnd(36)}${seconds.padStart(6)} s`);
  return outcome;
}

/** @param {Stage[]} stages @param {string | undefined} noChromium */
async function runAll(stages, noChromium) {
  /** @type {{ name: string, outcome: Outcome }[]} */
  const done = [];
  /** @param {Stage[]} lane */
  const runLane = async (lane) => {
    for (const stage of lane) done.push({ name: stage.name, outcome: await runStage(stage, noChromium) });
  };
  const lanes = [...new Set(stages.map(({ lane }) => lane))];
  await Promise.all(lanes.map((lane) => runLane(stages.filter((stage) => stage.lane === lane))));
  return done;
}

/** The first lines of an error, set in. @param {string} error */
const beginningOf = (error) => {
  const lines = error.trim().split('\n');
  const said = lines.slice(0, ERROR_LINES).map((line) => `      ${line}`);
  return [...said, ...(lines.length > ERROR_LINES ? ['      …'] : [])].join('\n');
};

/** @param {{ name: string, outcome: Outcome }[]} results @param {number} seconds */
function report(results, seconds) {
  const bad = results.filter(({ outcome }) => outcome.failed > 0);
  for (const { name, outcome } of bad) console.log(`\n===== ${name} =====\n${outcome.output.trim()}`);
  if (bad.length > 0) console.log('\nFailed:');
  for (const { name: stage, outcome } of bad)
    for (const { name, error } of outcome.failures) console.log(`\n  ${stage}: ${name}\n${beginningOf(error)}`);
  /** @param {'passed' | 'failed' | 'skipped'} key */
  const sum = (key) => results.reduce((total, { outcome }) => total + outcome[key], 0);
  console.log(`\nAll of it took ${seconds.toFixed(0)} s.`);
  console.log(`${sum('passed')} passed, ${sum('failed')} failed, ${sum('skipped')} skipped`);
  if (bad.length > 0) process.exitCode = 1;
}

await runEntry(async () => {
  requireNode();
  const start = performance.now();
  const stages = await chosenStages();
  await ensureDependencies(console.log);
  const noChromium = stages.some(({ needsChromium }) => needsChromium) ? await provideChromium() : undefined;
  report(await runAll(stages, noChromium), (performance.now() - start) / 1000);
}, 1);
