import { Strip } from '../dsp/core/strip.ts';
import { cacheKey, divide, pathsFrom, runFrames, type Executor, type RenderOptions } from './executor.ts';
import type { Plan, PlanStrip } from './plan.ts';
import { placed, type Sources } from './sources.ts';
import type { StripSound } from './strip-cache.ts';

/** Frames handed to a strip at once; the sound does not depend on it. */
const BLOCK_FRAMES = 2048;
/** The event loop gets a turn at least this often, so that progress shows and a cancel is heard. */
const TURN_MS = 50;

const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

/** Runs one strip over the whole song. */
const runStrip = async (
  strip: PlanStrip,
  inputs: readonly (readonly Float32Array[])[],
  sampleRate: number,
  frames: number,
  onBlock: () => Promise<void>,
): Promise<StripSound> => {
  const runner = new Strip(strip.spec, sampleRate, BLOCK_FRAMES);
  const sound = { left: new Float32Array(frames), right: new Float32Array(frames) };
  const block = { left: new Float32Array(BLOCK_FRAMES), right: new Float32Array(BLOCK_FRAMES) };
  for (let at = 0; at < frames; at += BLOCK_FRAMES) {
    const count = Math.min(BLOCK_FRAMES, frames - at);
    runner.process(inputs, block.left, block.right, at, count, 0);
    // Silence is not written: what the array never held takes no memory.
    for (const side of ['left', 'right'] as const)
      if (block[side].some(isSound)) sound[side].set(block[side].subarray(0, count), at);
    await onBlock();
  }
  return sound;
};

const isSound = (sample: number): boolean => sample !== 0;

/** Counts blocks, reports progress, and lets the event loop turn now and then. */
const pacer = (blocks: number, { onProgress, signal }: RenderOptions): (() => Promise<void>) => {
  let done = 0;
  let last = performance.now();
  return async () => {
    done++;
    if (performance.now() - last < TURN_MS) return;
    onProgress?.(done / blocks);
    await turn();
    signal?.throwIfAborted();
    last = performance.now();
  };
};

/** Strips that nothing needs any more once the run of each place is done; paths are kept. */
const lastUses = (run: readonly PlanStrip[], kept: ReadonlySet<string>): ReadonlyMap<number, readonly string[]> => {
  const last = new Map<string, number>();
  run.forEach(({ from }, n) => {
    for (const { kind, id } of from) if (kind === 'strip' && !kept.has(id)) last.set(id, n);
  });
  const places = new Map<number, string[]>();
  for (const [id, n] of last) places.set(n, [...(places.get(n) ?? []), id]);
  return places;
};

/**
 * Renders all paths with no Web Audio: strip after strip, each over the whole song, block by block through the same
 * kernels as the browser's graph. For the command line, workers and tests.
 */
export const renderDirect: Executor = async (plan: Plan, sources: Sources, options: RenderOptions = {}) => {
  const frames = runFrames(plan);
  const { run, known: sounds } = divide(plan, options.cache);
  const onBlock = pacer(run.length * Math.ceil(frames / BLOCK_FRAMES), options);
  const starts = new Map(plan.sources.map(({ id, startFrame }) => [id, startFrame]));
  const inputOf = ({ kind, id }: PlanStrip['from'][number]): readonly Float32Array[] => {
    if (kind === 'source') return placed(sources.get(id)!, starts.get(id)!, frames);
    const { left, right } = sounds.get(id)!;
    return [left, right];
  };
  const lastUse = lastUses(run, new Set(plan.paths.map(({ id }) => id)));
  for (const [n, strip] of run.entries()) {
    const sound = await runStrip(strip, strip.from.map(inputOf), plan.sampleRate, frames, onBlock);
    sounds.set(strip.id, sound);
    options.cache?.set(cacheKey(plan, strip), sound);
    for (const id of lastUse.get(n) ?? []) sounds.delete(id);
  }
  options.onProgress?.(1);
  return pathsFrom(plan, sounds);
};
