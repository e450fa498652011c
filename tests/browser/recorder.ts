import type { Audition } from '../../src/audition/audition.ts';

/** What came out of an audition, before the loudspeakers, from the moment it was listened in on. */
export interface Recording {
  /** Left and right from `fromFrame` on, counted on the audio clock. */
  readonly channels: readonly [Float32Array, Float32Array];
  readonly fromFrame: number;
}

export interface Recorder {
  /** The audio clock, frames. */
  now(): number;
  /** Everything that was heard until `frame`; on a busy machine it comes in late. */
  until(frame: number): Promise<Recording>;
}

const SOURCE = `registerProcessor('test-recorder', class extends AudioWorkletProcessor {
  process([[left, right = left]]) {
    const copy = (channel) => channel ? channel.slice() : new Float32Array(128);
    this.port.postMessage({ frame: currentFrame, left: copy(left), right: copy(right) });
    return true;
  }
})`;

interface Block {
  readonly frame: number;
  readonly left: Float32Array;
  readonly right: Float32Array;
}

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
  const blocks: Block[] = [];
  node.port.onmessage = ({ data }: MessageEvent<Block>) => blocks.push(data);
  volume.connect(node);
  return {
    now: () => Math.round(context.rawContext.currentTime * context.rawContext.sampleRate),
    until: async (frame) => {
      while (blocks.length === 0 || blocks.at(-1)!.frame + 128 < frame)
        await new Promise((resolve) => setTimeout(resolve, 10));
      const fromFrame = blocks[0]!.frame;
      const length = blocks.at(-1)!.frame + 128 - fromFrame;
      const channels = [new Float32Array(length), new Float32Array(length)] as const;
      for (const block of blocks) {
        channels[0].set(block.left, block.frame - fromFrame);
        channels[1].set(block.right, block.frame - fromFrame);
      }
      return { channels, fromFrame };
    },
  };
};
