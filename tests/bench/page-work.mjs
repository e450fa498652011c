// What the page's main thread works: its tasks by the clock and by its own processor time, as the browser traces them. Time by the clock grows
// with whatever else the machine does; processor time hardly does.

/** Tasks of more than this hold a picture up, ms. */
const LONG_MS = 50;
/** So many of the longest tasks are told of, each with so many of its parts. */
const LISTED = { tasks: 5, parts: 8 };
const CATEGORIES = ['toplevel', 'devtools.timeline', 'disabled-by-default-devtools.timeline', 'v8', '__metadata'];

/**
 * What the browser tells of one stretch of work, times in microseconds. `alone` is added here: its processor time without what it calls.
 * @typedef {{ name: string, ph: string, pid: number, tid: number, ts: number, dur?: number, tdur?: number, alone?: number,
 *   args?: { name?: string, data?: { type?: string, functionName?: string } } }} TraceEvent
 */

/** @param {number | undefined} us */
const ms = (us) => (us ?? 0) / 1000;

/** Starts to trace; what it gives ends it, and answers with all events. @param {import('playwright').Browser} browser */
async function traced(browser) {
  const cdp = await browser.newBrowserCDPSession();
  /** @type {TraceEvent[]} */
  const events = [];
  cdp.on('Tracing.dataCollected', ({ value }) => events.push(.../** @type {any[]} */ (value)));
  await cdp.send('Tracing.start', {
    transferMode: 'ReportEvents',
    traceConfig: { includedCategories: CATEGORIES, recordMode: 'recordAsMuchAsPossible' },
  });
  return async () => {
    const complete = new Promise((resolve) => cdp.once('Tracing.tracingComplete', resolve));
    await cdp.send('Tracing.end');
    await complete;
    await cdp.detach();
    return events;
  };
}

/** What the main thread of the page did, in order: that of the renderer with most to do. @param {readonly TraceEvent[]} events */
function workOfPage(events) {
  const threads = events
    .filter(({ name, args }) => name === 'thread_name' && args?.name === 'CrRendererMain')
    .map(({ pid, tid }) => events.filter((event) => event.pid === pid && event.tid === tid && event.ph === 'X'));
  const own = threads.sort((a, b) => b.length - a.length)[0] ?? [];
  return own.sort((a, b) => a.ts - b.ts || (b.dur ?? 0) - (a.dur ?? 0));
}

/** Tasks with what went on inside of each. @param {readonly TraceEvent[]} own in order */
function tasksOf(own) {
  /** @type {{ task: TraceEvent, inside: TraceEvent[] }[]} */
  const tasks = [];
  /** @type {TraceEvent[]} */
  const around = [];
  for (const event of own) {
    while (around.length > 0 && event.ts >= (around.at(-1)?.ts ?? 0) + (around.at(-1)?.dur ?? 0)) around.pop();
    event.alone = event.tdur ?? 0;
    const caller = around.at(-1);
    if (caller) caller.alone = (caller.alone ?? 0) - event.alone;
    else tasks.push({ task: event, inside: [] });
    tasks.at(-1)?.inside.push(event);
    around.push(event);
  }
  return tasks;
}

/** Processor time by what was done, the most first, ms. @param {readonly TraceEvent[]} inside */
function partsOf(inside) {
  /** @type {Map<string, number>} */
  const parts = new Map();
  for (const { name, args, alone } of inside) {
    const what = [name, args?.data?.type, args?.data?.functionName].filter(Boolean).join(' ');
    parts.set(what, (parts.get(what) ?? 0) + ms(alone));
  }
  return [...parts].sort(([, a], [, b]) => b - a).slice(0, LISTED.parts);
}

/** @param {readonly (readonly [string, number])[]} parts @param {number} digits */
const listed = (parts, digits) => parts.map(([what, time]) => `${what} ${time.toFixed(digits)}`).join(', ');

/** Watches the page's main thread; what it gives ends that, and tells. @param {import('playwright').Browser} browser */
export async function watchWork(browser) {
  const end = await traced(browser);
  const began = performance.now();
  return async (/** @type {string} */ what) => {
    const seconds = (performance.now() - began) / 1000;
    const tasks = tasksOf(workOfPage(await end()));
    const all = tasks.flatMap(({ inside }) => inside);
    const pictures = all.filter(({ name }) => name === 'Commit').length;
    const processor = tasks.reduce((sum, { task }) => sum + ms(task.tdur), 0);
    const [byClock, own] = [
      tasks.filter(({ task }) => ms(task.dur) > LONG_MS).length,
      tasks.filter(({ task }) => ms(task.tdur) > LONG_MS).length,
    ];
    console.log(
      `  ${what}, the main thread: ${(pictures / seconds).toFixed(1)} pictures a second, ${(processor / pictures).toFixed(1)} ms of ` +
        `processor time each (${((0.1 * processor) / seconds).toFixed(0)} % of a core)`,
    );
    console.log(`  tasks over ${LONG_MS} ms: ${byClock} by the clock, ${own} by processor time`);
    console.log(`  processor time in all, ms: ${listed(partsOf(all), 0)}`);
    tasks.sort((a, b) => ms(b.task.tdur) - ms(a.task.tdur));
    for (const { task, inside } of tasks.slice(0, LISTED.tasks))
      console.log(
        `    a task of ${ms(task.tdur).toFixed(0)} ms (${ms(task.dur).toFixed(0)} by the clock): ${listed(partsOf(inside), 1)}`,
      );
  };
}
