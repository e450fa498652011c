import { gainOf } from '../../../src/audio/decibels.ts';
import type { Biquad } from '../filters.ts';
import { bell, filter, highpass, highShelf, lowpass } from '../filters.ts';
import { reverberate } from '../instruments/feedback-network.ts';
import type { Signal } from '../signal.ts';
import { mixInto, silence } from '../signal.ts';
import { frameAt } from '../tempo.ts';
import type { Track } from '../tracks.ts';
import { compress } from './bus-compressor.ts';

/** What the artist did to a track beside level and pan: a filter or two, and some of the one reverb, dB. */
interface Touch {
  readonly eq?: readonly Biquad[];
  readonly reverbDb?: number;
}

const touches: Readonly<Record<string, Touch>> = {
  kick: { eq: [bell(320, -3, 1)] },
  snare: { reverbDb: -19 },
  hats: { eq: [highpass(300), highShelf(9000, -3)] },
  toms: { reverbDb: -22 },
  cymbals: { eq: [highpass(250), highShelf(8000, -4)] },
  room: { eq: [highpass(70), lowpass(7000)] },
  'hand-percussion': { eq: [highShelf(8000, -4)] },
  bass: { eq: [lowpass(2600)] },
  keys: { eq: [highpass(110)], reverbDb: -20 },
  pad: { eq: [highpass(160)] },
  'guitar-left': { eq: [highpass(110)] },
  'guitar-right': { eq: [highpass(110)] },
  lead: { eq: [highpass(110), bell(300, -1.5, 0.8)], reverbDb: -15 },
  backing: { eq: [highpass(160), highShelf(6000, -2)], reverbDb: -12 },
};

/** Level of the finished rough over the plain sum, set once so that it measures near -18.5 LUFS. */
const finalDb = 3;

/** Constant power for one channel, balance for two: left and right gains of a place -1..1. */
const placeGains = (pan: number, stereo: boolean): [number, number] =>
  stereo
    ? [Math.min(1, 1 - pan), Math.min(1, 1 + pan)]
    : [Math.cos(((pan + 1) * Math.PI) / 4), Math.sin(((pan + 1) * Math.PI) / 4)];

const addTrack = (out: readonly [Signal, Signal], send: Signal, { facts, channels }: Track): void => {
  const { eq = [], reverbDb } = touches[facts.id] ?? {};
  const stereo = channels.length === 2;
  const gains = placeGains(facts.pan, stereo);
  const heard = channels.map((channel) => filter(channel.slice(), ...eq));
  const level = gainOf(facts.gainDb);
  out.forEach((side, i) => mixInto(side, heard[stereo ? i : 0]!, level * gains[i]!));
  if (reverbDb === undefined) return;
  for (const channel of heard) mixInto(send, channel, (level * gainOf(reverbDb)) / heard.length, frameAt(0.018));
};

/** Keeps the middle, lowers the sides: the rough is narrower than the tracks allow. */
const narrow = ([left, right]: readonly [Signal, Signal], keep: number): void => {
  for (let n = 0; n < left.length; n++) {
    const middle = (left[n]! + right[n]!) / 2;
    const side = ((left[n]! - right[n]!) / 2) * keep;
    left[n] = middle + side;
    right[n] = middle - side;
  }
};

/** The mix the artist has lived with: right in balance, voice in front, but a little dull, narrow and flat. */
export const mixRough = (tracks: readonly Track[]): [Signal, Signal] => {
  const out: [Signal, Signal] = [silence(), silence()];
  const send = silence();
  for (const track of tracks) addTrack(out, send, track);
  const tail = reverberate(filter(send, highpass(200), lowpass(4500)), { seconds: 1.5, dampingHz: 3200, size: 1 });
  out.forEach((side, i) => mixInto(side, tail[i]!, 1));
  narrow(out, 0.72);
  compress(out, { thresholdDb: -20, ratio: 1.8, attackMs: 18, releaseMs: 180 });
  for (const side of out) {
    filter(side, highShelf(5500, -2.5), bell(280, 1, 0.7));
    const gain = gainOf(finalDb);
    for (let n = 0; n < side.length; n++) side[n] = side[n]! * gain;
  }
  return out;
};
