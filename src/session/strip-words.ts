import { CLOSED_DB } from '../dsp/core/fader-gain.ts';
import type { Send } from './schema.ts';

/** A level as it is read aloud: "-3.0 dB", or "−∞" for a closed fader. */
export const levelText = (db: number): string => (db <= CLOSED_DB ? '−∞' : `${db.toFixed(1)} dB`);

/** A pan, -1 (left) to 1 (right), as it is read aloud. */
export const panText = (pan: number): string => {
  if (pan === 0) return 'centre';
  return `${Math.round(100 * Math.abs(pan))} % ${pan < 0 ? 'left' : 'right'}`;
};

/** Where the right channel of a track starts against the left, seconds: "2.50 ms late", "0.23 ms early". */
export const apartText = (seconds = 0): string =>
  seconds === 0 ? 'with the left' : `${(1000 * Math.abs(seconds)).toFixed(2)} ms ${seconds < 0 ? 'early' : 'late'}`;

/** What a send does: "-6.0 dB, post-fader". */
export const sendText = ({ levelDb, tap, on }: Send): string => `${levelText(levelDb)}, ${tap}${on ? '' : ' (off)'}`;
