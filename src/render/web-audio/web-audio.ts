import {
  AudioBuffer,
  AudioBufferSourceNode,
  AudioWorkletNode,
  ChannelMergerNode,
  ChannelSplitterNode,
  OfflineAudioContext,
  addAudioWorkletModule,
  type IAudioNode,
  type IAudioWorkletNode,
} from 'standardized-audio-context';
import type { Audio } from '../../audio/audio.ts';
import { cacheKey, divide, pathsFrom, pathsInMemory, runFrames, type RenderOptions } from '../executor.ts';
import type { Plan, PlanStrip } from '../plan/plan.ts';
import { placed, type Sources } from '../plan/sources.ts';
import type { StripSound } from '../strip-cache.ts';
import { STRIP_PROCESSOR, type StripMessage, type StripNodeOptions, type StripReport } from './strip-node.ts';
import stripWorkletUrl from './strip.worklet.ts?worker&url';

type Context = OfflineAudioContext;
type Node = IAudioNode<Context>;

/** An offline context carries up to 32 channels: sixteen stereo strips come out of one render. */
const STRIPS_A_PASS = 16;

/** A source node that plays the given channels from the first frame. */
const bufferSource = (context: Context, channels: readonly Float32Array[]): Node => {
  const buffer = new AudioBuffer({
    length: channels[0]!.length,
    numberOfChannels: channels.length,
    sampleRate: context.sampleRate,
  });
  channels.forEach((channel, n) => buffer.copyToChannel(channel, n));
  const node = new AudioBufferSourceNode(context, { buffer });
  node.start(0);
  return node;
};

/** The worklet node that runs one strip. */
const stripNode = (
  context: Context,
  { id, spec }: PlanStrip,
  reports: boolean,
  onError: (error: Error) => void,
): IAudioWorkletNode<Context> => {
  const node = new AudioWorkletNode!(context, STRIP_PROCESSOR, {
    numberOfInputs: Math.max(1, spec.inputs.length + spec.keyInputs.length),
    numberOfOutputs: 1,
    outputChannelCount: [2],
    channelCount: 2,
    channelCountMode: 'explicit',
    channelInterpretation: 'speakers',
    processorOptions: { spec, reports } satisfies StripNodeOptions,
  });
  node.onprocessorerror = () => onError(new Error(`the chain of "${id}" stopped while rendering`));
  return node;
};

/** Strips of one pass and, in order, all strips that must run before them. */
const upstream = (pass: readonly PlanStrip[], run: readonly PlanStrip[]): PlanStrip[] => {
  const needed = new Set(pass.map(({ id }) => id));
  return [...run]
    .reverse()
    .filter((strip) => {
      if (!needed.has(strip.id)) return false;
      for (const ref of strip.from) if (ref.kind === 'strip') needed.add(ref.id);
      return true;
    })
    .reverse();
};

/** Builds the graph of one pass, renders it, and returns the strips' sounds. */
const renderPass = async (
  plan: Plan,
  pass: readonly PlanStrip[],
  strips: readonly PlanStrip[],
  sources: Sources,
  known: ReadonlyMap<string, StripSound>,
  onProgress: (done: number) => void,
  signal: AbortSignal | undefined,
): Promise<Map<string, StripSound>> => {
  const frames = runFrames(plan);
  const context = new OfflineAudioContext({
    length: frames,
    numberOfChannels: 2 * pass.length,
    sampleRate: plan.sampleRate,
  });
  await addAudioWorkletModule!(context, stripWorkletUrl);
  let failure: Error | null = null;
  const starts = new Map(plan.sources.map(({ id, startFrame }) => [id, startFrame]));
  const nodes = new Map<string, Node>();
  const nodeOf = ({ kind, id }: PlanStrip['from'][number]): Node => {
    const name = `${kind} ${id}`;
    const sound = known.get(id);
    const node =
      nodes.get(name) ??
      bufferSource(
        context,
        kind === 'source'
          ? placed(sources.get(id)!, starts.get(id)!, frames)
          : [sound!.left, sound!.right].map((side) => side.subarray(0, side.length)),
      );
    nodes.set(name, node);
    return node;
  };
  const worklets = strips.map((strip, n) => {
    // The last strip of a pass hears all others first, so its progress is the pass's.
    const node = stripNode(context, strip, n === strips.length - 1, (error) => (failure ??= error));
    strip.from.forEach((ref, input) => nodeOf(ref).connect(node, 0, input));
    nodes.set(`strip ${strip.id}`, node);
    return node;
  });
  worklets.at(-1)!.port.onmessage = ({ data }: MessageEvent<StripReport>) => onProgress(data.frames / frames);
  const halt = (): void => worklets.forEach(({ port }) => port.postMessage({ halt: true } satisfies StripMessage));
  signal?.addEventListener('abort', halt);
  const merger = new ChannelMergerNode(context, { numberOfInputs: 2 * pass.length });
  pass.forEach(({ id }, n) => {
    const splitter = new ChannelSplitterNode(context, { numberOfOutputs: 2 });
    nodes.get(`strip ${id}`)!.connect(splitter);
    splitter.connect(merger, 0, 2 * n);
    splitter.connect(merger, 1, 2 * n + 1);
  });
  merger.connect(context.destination);
  const rendered = await context.startRendering();
  signal?.removeEventListener('abort', halt);
  // Reports that are still on their way would come after the end.
  worklets.at(-1)!.port.onmessage = null;
  signal?.throwIfAborted();
  if (failure) throw failure as Error;
  return new Map(
    pass.map(({ id }, n) => [id, { left: rendered.getChannelData(2 * n), right: rendered.getChannelData(2 * n + 1) }]),
  );
};

/**
 * Renders all paths as a Web Audio graph in an OfflineAudioContext, up to sixteen strips a pass. Only sources,
 * splitters, mergers and our worklet stand in the graph: engines disagree on the other nodes. Sums, gains and delays
 * are the worklet's, in a fixed order and double precision.
 */
export const renderWebAudio = async (
  plan: Plan,
  sources: Sources,
  options: RenderOptions = {},
): Promise<ReadonlyMap<string, Audio>> => {
  const { run, known: sounds } = divide(plan, options.cache);
  for (let at = 0; at < run.length; at += STRIPS_A_PASS) {
    options.signal?.throwIfAborted();
    const pass = run.slice(at, at + STRIPS_A_PASS);
    const onProgress = (done: number): void => options.onProgress?.((at + done * pass.length) / run.length);
    onProgress(0);
    const rendered = await renderPass(
      plan,
      pass,
      upstream(
        pass,
        run.filter(({ id }) => !sounds.has(id)),
      ),
      sources,
      sounds,
      onProgress,
      options.signal,
    );
    for (const strip of pass) {
      const sound = rendered.get(strip.id)!;
      sounds.set(strip.id, sound);
      options.cache?.set(cacheKey(plan, strip), sound);
    }
  }
  options.signal?.throwIfAborted();
  options.onProgress?.(1);
  return pathsInMemory(pathsFrom(plan, sounds));
};
