import { absorbedPower, absorbers, passGain } from './absorbing-line.ts';
import { inputGains, lineLengths, LINES, type Room, wayLengths } from './room-lines.ts';
import { tapsPower } from './tail-taps.ts';

/** Octave bands over which pink noise is equally strong, Hz. */
const OCTAVES = [31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000];

/**
 * Power gain of the network from either input to either output for pink noise in both, from the loss of the lines alone,
 * averaged over octaves. With q the mean power gain of the lines and b what first passes come out with, the flow out of the
 * lines is f = b + q f; a sixteenth of it goes into each.
 */
export const networkPower = (room: Room, sampleRate: number): number => {
  const lengths = lineLengths(room, sampleRate);
  const ways = wayLengths(room, sampleRate);
  const inputs = inputGains(lengths).map((gain, i) => (gain * passGain(ways[i]!, room.decay, sampleRate)) ** 2);
  const filters = lengths.map((length) => absorbers(length, room, sampleRate));
  const powerAt = (hz: number): number => {
    const passes = filters.map((each) => absorbedPower(each, hz, sampleRate));
    const kept = passes.reduce((sum, power) => sum + power, 0) / LINES;
    const first = passes.reduce((sum, power, i) => sum + power * inputs[i]!, 0);
    const shareOfFlow = first / (1 - kept) / LINES;
    const powers = inputs.map((power) => power + shareOfFlow);
    return tapsPower(lengths, powers, room, hz, sampleRate);
  };
  const heard = OCTAVES.filter((hz) => hz < sampleRate / 2);
  return heard.reduce((sum, hz) => sum + powerAt(hz), 0) / heard.length;
};
