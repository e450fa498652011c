import { LiveStrip } from '../../dsp/core/live-strip.ts';
import { STRIP_PROCESSOR, type StripMessage, type StripNodeOptions, type StripReport } from './strip-node.ts';

/** Longest render quantum that a browser may choose, frames. */
const MAX_QUANTUM = 4096;

/** Hosts one strip, and so one whole chain, in one audio node. */
class StripWorklet extends AudioWorkletProcessor {
  /** null: halted. */
  private strip: LiveStrip | null;
  private readonly reports: boolean;
  private frames = 0;

  constructor({ processorOptions }: { processorOptions: unknown }) {
    super();
    const { spec, reports } = processorOptions as StripNodeOptions;
    this.strip = new LiveStrip(spec, sampleRate, MAX_QUANTUM);
    this.reports = reports ?? false;
    this.port.onmessage = ({ data }: MessageEvent<StripMessage>) => {
      if ('halt' in data) this.strip = null;
      else this.strip?.moveTo(data.spec);
    };
  }

  override process(
    inputs: readonly (readonly Float32Array[])[],
    outputs: readonly (readonly Float32Array[])[],
  ): boolean {
    const [left, right] = outputs[0]!;
    this.strip?.process(inputs, left!, right!, left!.length);
    if (this.reports) this.report(left!.length);
    return this.strip !== null;
  }

  private report(frames: number): void {
    const before = this.frames;
    this.frames += frames;
    if (Math.floor(before / sampleRate) === Math.floor(this.frames / sampleRate)) return;
    this.port.postMessage({ frames: this.frames } satisfies StripReport);
  }
}

registerProcessor(STRIP_PROCESSOR, StripWorklet);
