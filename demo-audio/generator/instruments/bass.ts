import { bell, filter, highpass, lowpass, lowShelf } from '../filters.ts';
import type { Random } from '../random.ts';
import { randomFrom } from '../random.ts';
import type { Note } from '../score/bass-line.ts';
import { bassLine } from '../score/bass-line.ts';
import type { Signal } from '../signal.ts';
import { silence } from '../signal.ts';
import { frameAt, hzOf, secondsAt } from '../tempo.ts';
import { burst } from './modes.ts';
import { pluckString } from './string.ts';

/** Nearest fret shift that squeaks on a wound string, semitones. */
const squeakFrom = 4;

/** The sounds of the hand: fingertip on the string, now and then the slide of a long shift. */
const fingers = (out: Signal, frame: number, velocity: number, shift: number, random: Random): void => {
  const touch = frame - frameAt(0.012 + 0.006 * random.next());
  burst(
    out,
    Math.max(0, touch),
    { gain: 0.09 * velocity, attack: 0.003, decay: 0.035, lowHz: 700, highHz: 2600 },
    random,
  );
  burst(out, frame, { gain: 0.3 * velocity ** 2, attack: 0.0004, decay: 0.02, lowHz: 1100, highHz: 3800 }, random);
  if (shift < squeakFrom) return;
  const slide = { gain: 0.05 + 0.03 * random.next(), attack: 0.02, decay: 0.11, lowHz: 1400, highHz: 4200 };
  burst(out, Math.max(0, frame - frameAt(0.09)), slide, random);
};

const playNote = (out: Signal, hand: Signal, note: Note, previous: Note | undefined, random: Random): void => {
  const behind = 0.004 + 0.005 * random.bell();
  const frame = Math.max(0, frameAt(secondsAt(note.bar, note.beat) + behind));
  const seconds = secondsAt(note.bar, note.beat + note.beats) - secondsAt(note.bar, note.beat);
  const velocity = note.velocity * (1 + 0.05 * random.bell());
  pluckString(
    out,
    frame,
    {
      hz: hzOf(note.midi) * (1 + 0.0004 * random.bell()),
      seconds: seconds + 0.01,
      release: 0.035,
      gain: 0.5 * velocity,
      pluckAt: 0.19 + 0.02 * random.signed(),
      pickupAt: 0.27,
      edgeHz: 900 + 2600 * velocity ** 2,
      sustain: 5.5,
      damping: 0.44 - 0.14 * velocity,
      scrape: 0.12,
    },
    random,
  );
  fingers(hand, frame, velocity, Math.abs(note.midi - (previous?.midi ?? note.midi)), random);
};

/** Electric bass into the recorder: deep fundamental, a little growl where it is dug into, finger noise. */
export const playBass = (): Signal => {
  const random = randomFrom('bass');
  const strings = silence();
  const hand = silence();
  bassLine.forEach((note, i) => playNote(strings, hand, note, bassLine[i - 1], random));
  filter(strings, lowShelf(90, 3.5), bell(240, -2, 0.9), bell(820, 4, 0.8));
  for (let n = 0; n < strings.length; n++)
    strings[n] = Math.tanh(0.85 * strings[n]! + 0.06) - Math.tanh(0.06) + 0.8 * hand[n]!;
  return filter(strings, highpass(28), lowpass(5600));
};
