/**
 * Seconds that a node of the browser takes over a sound of this length, in an offline context, with the time of a context
 * without it taken off. Runs in a page: it may use nothing from outside.
 * @param {{ name: string, seconds: number, rate: number }} asked @returns {Promise<number>}
 */
export async function nativeSeconds({ name, seconds, rate }) {
  /** @type {Record<string, (context: OfflineAudioContext) => AudioNode[]>} */
  const chains = {
    gain: (context) => [new GainNode(context, { gain: 0.7 })],
    'six biquads': (context) =>
      [40, 100, 250, 600, 1500, 3500].map(
        (frequency) => new BiquadFilterNode(context, { type: 'peaking', frequency, gain: 3, Q: 1 }),
      ),
    compressor: (context) => [new DynamicsCompressorNode(context, { threshold: -30, ratio: 4 })],
    'shaper 4x': (context) => {
      const curve = Float32Array.from({ length: 2049 }, (_, n) => Math.tanh(4 * (n / 1024 - 1)));
      return [new WaveShaperNode(context, { curve, oversample: '4x' })];
    },
    chorus: (context) => {
      const delay = new DelayNode(context, { delayTime: 0.02 });
      const swing = new OscillatorNode(context, { frequency: 0.5 });
      swing.connect(new GainNode(context, { gain: 0.002 })).connect(delay.delayTime);
      swing.start();
      return [delay];
    },
    echo: (context) => {
      const delay = new DelayNode(context, { delayTime: 0.375 });
      delay.connect(new GainNode(context, { gain: 0.35 })).connect(delay);
      return [delay];
    },
    panner: (context) => [new StereoPannerNode(context, { pan: -0.4 })],
    convolver: (context) => {
      const buffer = new AudioBuffer({ numberOfChannels: 2, length: 2 * rate, sampleRate: rate });
      for (const side of [0, 1]) {
        const samples = buffer.getChannelData(side);
        for (let n = 0; n < samples.length; n++) samples[n] = (Math.random() - 0.5) * 10 ** ((-3 * n) / (2 * rate));
      }
      return [new ConvolverNode(context, { buffer })];
    },
  };
  const timed = async (/** @type {(context: OfflineAudioContext) => AudioNode[]} */ made) => {
    const context = new OfflineAudioContext(2, rate * seconds, rate);
    const buffer = new AudioBuffer({ numberOfChannels: 2, length: rate * seconds, sampleRate: rate });
    for (const side of [0, 1]) {
      const samples = buffer.getChannelData(side);
      for (let n = 0; n < samples.length; n++) samples[n] = Math.random() - 0.5;
    }
    /** @type {AudioNode} */
    let last = new AudioBufferSourceNode(context, { buffer });
    /** @type {AudioBufferSourceNode} */ (last).start();
    for (const node of made(context)) last = last.connect(node);
    last.connect(context.destination);
    const start = performance.now();
    await context.startRendering();
    return (performance.now() - start) / 1000;
  };
  const bare = await timed(() => []);
  return (await timed(chains[name] ?? (() => []))) - bare;
}
