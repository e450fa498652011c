// What `import … from 'tributary'` gives: src/index.ts, built like the command line when its sources have changed.
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { ensureBuilt } from './cli/build-cli.mjs';
import { ensureDependencies, requireNode } from './cli/ensure-dependencies.mjs';

/** Standard output belongs to the script; what goes on before it is told on a terminal only. @param {string} line */
const tell = (line) => {
  if (process.stderr.isTTY) console.error(line);
};

requireNode();
await ensureDependencies(tell);
/** @type {typeof import('./index.ts')} */
const face = await import(pathToFileURL(join(await ensureBuilt(tell), 'index.js')).href);

export const { openSession, readAudioFile, writeWav, measure, ProblemError, sessionText } = face;
export const { sectionOfBars, setSections, setTempoMap } = face;
export const { addPoint, removeLine, setLine, switchInSections, throwSend } = face;
export const { setBlend, setBlends, setFader, setOn, setProcessorOn, setSend, setSetting, setTrim } = face;
