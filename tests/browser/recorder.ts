import type { Audition } from '../../src/audition/audition.ts';

/** What came out of an audition, before the loudspeakers, from the moment it was listened in on. */
export interface Recording {
  /** Left channel from `fromFrame` on, counted on the audio clock. */
  readonly samples: Float32Array;
  readonly fromFrame: number;
}

export interface Recorder {
  /** The audio clock, frames. */
  now(): number;
  /** Everything that was heard so far. */
  take(): Recording;
}

const SOURCE = `registerProcessor('test-recorder', class extends AudioWorkletProcessor {
  process([[left]]) {
    this.port.postMessage({ frame: currentFrame, left: left ? left.slice() : new Float32Array(128) });
    return true;
  }
})`;

interface Inside {
  readonly context: {
    readonly rawContext: { readonly currentTime: number; readonly sampleRate: number };
    addAudioWorkletModule(url: string): Promise<void>;
    createAudioWorkletNode(name: string, options: object): AudioWorkletNode;
  };
  readonly volume: { connect(node: AudioWorkletNode): void };
}

/** Listens in on the way to the loudspeakers, sample by sample. */
export const recorderOf = async (audition: Audition): Promise<Recorder> => {
  const { context, volume } = audition as unknown as Inside;
  await context.addAudioWorkletModule(`data:text/javascript;charset=utf-8,${encodeURIComponent(SOURCE)}`);
  const node = context.createAudioWorkletNode('test-recorder', { numberOfOutputs: 0, channelCount: 2 });
  const blocks: { frame: number; left: Float32Array }[] = [];
  node.port.onmessage = ({ data }: MessageEvent<{ frame: number; left: Float32Array }>) => blocks.push(data);
  volume.connect(node);
  return {
    now: () => Math.round(context.rawContext.currentTime * context.rawContext.sampleRate),
    take: () => {
      const fromFrame = blocks[0]!.frame;
      const samples = new Float32Array(blocks.at(-1)!.frame + 128 - fromFrame);
      for (const { frame, left } of blocks) samples.set(left, frame - fromFrame);
      return { samples, fromFrame };
    },
  };
};
