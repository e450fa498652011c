/** The package has no types of its own. It writes one or two channels, as 16 bit integers or 32 bit float. */
declare module 'audiobuffer-to-wav' {
  interface SampleSource {
    readonly numberOfChannels: number;
    readonly sampleRate: number;
    getChannelData(channel: number): Float32Array;
  }
  function audioBufferToWav(source: SampleSource, options?: { float32?: boolean }): ArrayBuffer;
  export default audioBufferToWav;
}
