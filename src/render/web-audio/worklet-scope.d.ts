// The part of the AudioWorklet scope that our worklet uses; TypeScript's DOM library does not describe it.
declare abstract class AudioWorkletProcessor {
  readonly port: MessagePort;
  abstract process(
    inputs: readonly (readonly Float32Array[])[],
    outputs: readonly (readonly Float32Array[])[],
    parameters: Readonly<Record<string, Float32Array>>,
  ): boolean;
}
declare function registerProcessor(
  name: string,
  processor: new (options: { processorOptions: unknown }) => AudioWorkletProcessor,
): void;
declare const sampleRate: number;
declare const currentFrame: number;
