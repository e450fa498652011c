import { AudioBuffer as Buffer } from 'standardized-audio-context';
import { framesOf, type Audio } from '../audio/audio.ts';

/** Channels as a buffer to play from, at least `frames` long: a shorter one would end its loop before the others. */
const filled = (sampleRate: number, channels: readonly Float32Array[], frames: number): AudioBuffer => {
  const length = Math.max(frames, channels[0]!.length, 1);
  const buffer = new Buffer({ length, numberOfChannels: channels.length, sampleRate }) as unknown as AudioBuffer;
  channels.forEach((channel, n) => buffer.copyToChannel(channel as Float32Array<ArrayBuffer>, n));
  return buffer;
};

/** A sound as a buffer to play from, of at least `frames`, silent behind its end. */
export const playBuffer = (audio: Audio, frames = framesOf(audio)): AudioBuffer =>
  filled(audio.sampleRate, audio.channels, frames);

/** The same buffer where it is as long as `frames`, else a longer one. */
export const lengthened = (buffer: AudioBuffer, frames: number): AudioBuffer => {
  if (buffer.length >= frames) return buffer;
  const channels = Array.from({ length: buffer.numberOfChannels }, (_, n) => buffer.getChannelData(n));
  return filled(buffer.sampleRate, channels, frames);
};
