import { Strip } from '../dsp/strip.ts';
import { STRIP_PROCESSOR, type StripMessage, type StripNodeOptions } from './strip-node.ts';

/** Longest render quantum that a browser may choose, frames. */
const MAX_QUANTUM = 4096;

/** Hosts one strip, and so one whole chain, in one audio node. */
class StripWorklet extends AudioWorkletProcessor {
  private strip: Strip;

  constructor({ processorOptions }: { processorOptions: unknown }) {
    super();
    this.strip = new Strip((processorOptions as StripNodeOptions).spec, sampleRate, MAX_QUANTUM);
    this.port.onmessage = ({ data }: MessageEvent<StripMessage>) => {
      if ('spec' in data) this.strip = new Strip(data.spec, sampleRate, MAX_QUANTUM);
      else this.strip.set(data.set, data.values);
    };
  }

  override process(
    inputs: readonly (readonly Float32Array[])[],
    outputs: readonly (readonly Float32Array[])[],
  ): boolean {
    const [left, right] = outputs[0]!;
    this.strip.process(inputs, left!, right!, 0, left!.length);
    return true;
  }
}

registerProcessor(STRIP_PROCESSOR, StripWorklet);
