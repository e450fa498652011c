/// <reference lib="webworker" />
import type { Audio } from '../audio/audio.ts';
import { renderDirect } from './direct.ts';
import type { RenderReply, RenderRequest } from './render-messages.ts';
import type { StripSound } from './strip-cache.ts';

/** Renders off the main thread, by the direct executor; jobs that overlap take turns. */

const scope = self as unknown as DedicatedWorkerGlobalScope;
const reply = (message: RenderReply, transfer: Transferable[] = []): void => scope.postMessage(message, transfer);

const held = new Map<number, { readonly sampleRate: number; readonly channels: Float32Array[] }>();
const running = new Map<number, AbortController>();

const soundOf = (sound: number): Audio => held.get(sound)!;
const stripOf = (sound: number): StripSound => {
  const [left, right] = soundOf(sound).channels as [Float32Array, Float32Array];
  return { left, right };
};

const run = async ({ job, plan, ...sounds }: Extract<RenderRequest, { kind: 'job' }>): Promise<void> => {
  const stop = new AbortController();
  running.set(job, stop);
  const sources = new Map(sounds.sources.map(([id, sound]) => [id, soundOf(sound)]));
  const known = new Map(sounds.strips.map(([key, sound]) => [key, stripOf(sound)]));
  const made = new Map<string, StripSound>();
  const cache = {
    get: (key: string) => known.get(key),
    set: (key: string, sound: StripSound) => void made.set(key, sound),
  };
  let fault: string | null = null;
  try {
    const onProgress = (part: number): void => reply({ kind: 'progress', job, part });
    await renderDirect(plan, sources, { cache, signal: stop.signal, onProgress });
  } catch (error) {
    fault = error instanceof Error ? error.message : String(error);
  }
  running.delete(job);
  const strips = [...made];
  const buffers = strips.flatMap(([, { left, right }]) => [left.buffer, right.buffer]);
  reply({ kind: 'end', job, strips, fault }, buffers);
};

scope.onmessage = ({ data }: MessageEvent<RenderRequest>) => {
  if (data.kind === 'job') void run(data);
  else if (data.kind === 'stop') running.get(data.job)?.abort();
  else if (data.kind === 'drop') for (const sound of data.sounds) held.delete(sound);
  else {
    const { sampleRate, channels } = held.get(data.sound) ?? { sampleRate: data.sampleRate, channels: [] };
    held.set(data.sound, { sampleRate, channels: [...channels, data.samples] });
  }
};
reply({ kind: 'listening' });
