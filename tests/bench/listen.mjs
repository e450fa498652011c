// Listening in the app: the time from a knob to the sound, clicks, sound that came too late, long tasks and memory while a section of the
// demo song plays in a loop. What comes out is recorded before the loudspeakers, and held against a round of the loop without a move.
import { setTimeout as wait } from 'node:timers/promises';
import { memoryReader, openDemo, PATIENCE, settle, tellTasks, watchTasks, withApp } from './opened-app.mjs';
import { tellVerdicts, WANTED } from './wanted.mjs';

const TRIALS = Number(process.env['LISTEN_TRIALS'] ?? 4);
/** "… of Mix bus" too. Where a path pauses, as drums do, a move is heard with its next sound: the time until it is sent says more then. */
const PROCESSOR = process.env['LISTEN_PROCESSOR'] ?? 'Compressor of Drum squeeze';
const SLIDER = process.env['LISTEN_SLIDER'] ?? 'Threshold';
/** What differs from the round before by more than this is heard to have moved, dB below the peak. */
const MOVED_DB = -50;
/** What follows a move is looked through for clicks this long, seconds. */
const LOOKED_SECONDS = 1;

/** After all is measured that is waited for, the app works on for this long at most, seconds. */
const QUIET_SECONDS = 12;

/** Records all that goes to the loudspeakers, and hears what the player tells; runs in the page before all else. */
function listenIn() {
  const source = `registerProcessor('bench-recorder', class extends AudioWorkletProcessor {
    process([[left]]) {
      if (left) this.port.postMessage([currentFrame, left.slice()]);
      return true;
    }
  })`;
  /** @type {{ blocks: [AudioContext, number, Float32Array][], context: AudioContext | null, late: number, moved: number, pressed: number, sent: number[] }} */
  const heard = { blocks: [], context: null, late: 0, moved: 0, pressed: 0, sent: [] };
  Reflect.set(window, 'heard', heard);
  const connect = AudioNode.prototype.connect;
  /** @param {AudioNode} from */
  const record = async (from) => {
    const context = /** @type {AudioContext} */ (from.context);
    heard.context = context;
    await context.audioWorklet.addModule(`data:text/javascript,${encodeURIComponent(source)}`);
    const node = new AudioWorkletNode(context, 'bench-recorder', { numberOfOutputs: 0, channelCount: 2 });
    node.port.onmessage = ({ data }) => heard.blocks.push([context, data[0], data[1]]);
    Reflect.apply(connect, from, [node]);
  };
  AudioNode.prototype.connect = function (/** @type {unknown[]} */ ...given) {
    if (given[0] instanceof AudioDestinationNode && this.context instanceof AudioContext) void record(this);
    return Reflect.apply(connect, this, given);
  };
  const Native = AudioWorkletNode;
  window.AudioWorkletNode = class extends Native {
    /** @param {ConstructorParameters<typeof Native>} given */
    constructor(...given) {
      super(...given);
      const { port } = this;
      const send = port.postMessage.bind(port);
      port.postMessage = (/** @type {unknown[]} */ ...message) => {
        const kind = Reflect.get(Object(message[0]), 'kind');
        if (heard.pressed > 0 && (kind === 'moves' || kind === 'mix bus')) {
          heard.sent.push(performance.now() - heard.pressed);
          heard.pressed = 0;
        }
        Reflect.apply(send, port, message);
      };
      port.addEventListener('message', ({ data }) => {
        if (data?.kind === 'late stretches') heard.late = data.count;
      });
    }
  };
  window.addEventListener(
    'keydown',
    ({ key, timeStamp }) => {
      if (key !== 'Home') return;
      // When the key was pressed, not when the page came to hear of it.
      const late = (performance.now() - timeStamp) / 1000;
      heard.moved = Math.round(((heard.context?.currentTime ?? 0) - late) * (heard.context?.sampleRate ?? 0));
      heard.pressed = timeStamp;
    },
    true,
  );
}

/** @param {import('playwright').Page} page */
const latencyOf = (page) =>
  page.evaluate(() => {
    const { context } = Reflect.get(window, 'heard');
    return 1000 * (context.baseLatency + context.outputLatency);
  });

/**
 * What was heard after each move, against the round before: the time until it differs, ms, and the largest step from sample to sample.
 * @param {{ moves: number[], round: number, movedDb: number, lookedSeconds: number }} asked moves and the round in frames and seconds
 */
function looked({ moves, round, movedDb, lookedSeconds }) {
  /** @type {{ blocks: [AudioContext, number, Float32Array][], context: AudioContext }} */
  const { blocks: all, context } = Reflect.get(window, 'heard');
  const blocks = all.filter(([of]) => of === context);
  const rate = context.sampleRate;
  const last = blocks.reduce((most, [, frame]) => Math.max(most, frame), 0);
  const samples = new Float32Array(last + 128);
  // Whatever goes to the loudspeakers is added there.
  for (const [, frame, left] of blocks) left.forEach((x, n) => (samples[frame + n] = (samples[frame + n] ?? 0) + x));
  const at = (/** @type {number} */ n) => samples[n] ?? 0;
  const peak = samples.reduce((most, x) => Math.max(most, Math.abs(x)), 0);
  const limit = peak * 10 ** (movedDb / 20);
  const largest = (/** @type {number} */ from) => {
    let most = 0;
    for (let n = from; n < from + lookedSeconds * rate; n++) most = Math.max(most, Math.abs(at(n) - at(n - 1)));
    return most;
  };
  return moves.map((move) => {
    let n = move;
    while (n < move + rate && Math.abs(at(n) - at(n - round * rate)) <= limit) n++;
    return { ms: (1000 * (n - move)) / rate, step: largest(move) / largest(move - round * rate) };
  });
}

/**
 * Moves the slider while the findings show figures of the loop; seconds until these are of the moved mix.
 * @param {import('playwright').Page} page
 */
async function loopFigures(page) {
  const findings = page.getByRole('complementary', { name: 'Findings' });
  await findings.getByText(/^Loop, /).click();
  await findings.getByText(/^Of the loop/).waitFor({ timeout: PATIENCE });
  const times = [];
  for (let trial = 0; trial < TRIALS; trial++) {
    // What the page shows is looked at in every frame.
    const shown = page.evaluate(
      () =>
        new Promise((resolve) => {
          const aside = document.querySelector('aside[aria-label="Findings"]');
          let began = 0;
          addEventListener('keydown', () => (began = performance.now()), { capture: true, once: true });
          let wasOld = false;
          const look = () => {
            const text = aside?.textContent ?? '';
            wasOld ||= began > 0 && text.includes('Measuring the loop');
            if (wasOld && text.includes('Of the loop')) resolve((performance.now() - began) / 1000);
            else requestAnimationFrame(look);
          };
          look();
        }),
    );
    await page.getByRole('slider', { name: SLIDER, exact: true }).press(trial % 2 === 0 ? 'Home' : 'End');
    times.push(Number(await shown));
    await settle(page);
  }
  return times;
}

/** Moves the slider to its end and back in rounds of the loop; the frames at which the key was pressed. @param {import('playwright').Page} page @param {number} round seconds */
async function trials(page, round) {
  const slider = page.getByRole('slider', { name: SLIDER, exact: true });
  await slider.focus();
  const moves = [];
  for (let trial = 0; trial < TRIALS; trial++) {
    await page.keyboard.press('Home');
    moves.push(await page.evaluate(() => Number(Reflect.get(window, 'heard').moved)));
    await wait(2000);
    await page.keyboard.press('Control+z');
    // A round without a move, so that the next can be held against it.
    await wait(1000 * (round + 3) + 137 * trial);
  }
  return moves;
}

/** @param {import('playwright').Page} page @param {() => Promise<number>} memory MB */
async function listen(page, memory) {
  await settle(page);
  // Levels of the mix without each path are still measured, as nobody waits for them; that takes memory whether something plays or not.
  await wait(1000 * QUIET_SECONDS);
  const before = await memory();
  const section = page
    .getByRole('group', { name: /^Sections/ })
    .getByRole('button')
    .first();
  await section.click();
  const round = 10;
  await page.getByRole('button', { name: PROCESSOR, exact: true }).click();
  await tellTasks(page, 'before playing');
  await page.getByRole('button', { name: /^Play/ }).first().click();
  const began = performance.now();
  // The mix bus always does.
  if (!PROCESSOR.endsWith('of Mix bus')) await page.getByText('live', { exact: true }).waitFor({ timeout: PATIENCE });
  console.log(`  from play until the path runs live: ${((performance.now() - began) / 1000).toFixed(1)} s`);
  await wait(1000 * (round + 3));
  const latency = await latencyOf(page);
  await tellTasks(page, 'until the path runs live');
  const turning = performance.now();
  const moves = await trials(page, round);
  const found = await page.evaluate(looked, { moves, round, movedDb: MOVED_DB, lookedSeconds: LOOKED_SECONDS });
  console.log(`  from the key to the sound: ${found.map(({ ms }) => ms.toFixed(0)).join(', ')} ms`);
  const sent = await page.evaluate(() => Reflect.get(window, 'heard').sent.map(Math.round));
  console.log(`  of that until the page has sent the move to the audio thread: ${sent.join(', ')} ms`);
  const steps = found.map(({ step }) => step.toFixed(2)).join(', ');
  console.log(`  largest step from sample to sample in the second after a move, of that without it: ${steps}`);
  console.log(`  the audio context's own latency, not in these times: ${latency.toFixed(0)} ms`);
  const late = Number(await page.evaluate(() => Reflect.get(window, 'heard').late));
  const minutes = (performance.now() - turning) / 60_000;
  const tasks = await tellTasks(page, 'while playing');
  const figures = await loopFigures(page);
  console.log(`  from the key to figures of the loop: ${figures.map((each) => each.toFixed(2)).join(', ')} s`);
  console.log(
    `  memory of the renderer: ${before.toFixed(0)} MB before, ${(await memory()).toFixed(0)} MB while playing`,
  );
  tellVerdicts([
    [WANTED.knob, Math.max(...found.map(({ ms }) => ms))],
    [WANTED.lateStretches, late],
    [WANTED.loopFigures, Math.max(...figures)],
    [WANTED.longTasks, tasks / minutes],
  ]);
}

export const bench = () =>
  withApp(
    async ({ page, browser, address }) => {
      await watchTasks(page);
      await page.addInitScript(listenIn);
      await openDemo(page, address);
      await listen(page, await memoryReader(browser));
    },
    // The app lets no script in that is not its own, as what records is.
    { bypassCSP: true },
  );
