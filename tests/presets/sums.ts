import { framesOf, type Audio } from '../../src/audio/audio.ts';
import { gainOf } from '../../src/audio/decibels.ts';

/** `a` + `b` at `gainDb`, as long as the longer of the two. */
export const sumOf = (a: Audio, b: Audio, gainDb = 0): Audio => {
  const gain = gainOf(gainDb);
  const [longer, shorter, longerGain, shorterGain] = framesOf(a) >= framesOf(b) ? [a, b, 1, gain] : [b, a, gain, 1];
  const channels = longer.channels.map((channel, n) =>
    channel.map((x, i) => longerGain * x + shorterGain * (shorter.channels[n]![i] ?? 0)),
  );
  return { sampleRate: a.sampleRate, channels };
};
