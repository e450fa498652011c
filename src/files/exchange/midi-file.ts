import { placesOf } from '../../session/markers.ts';
import type { Session } from '../../session/schema.ts';
import { TempoMap } from '../../session/tempo-map.ts';
import { joinedBytes } from '../bytes/joined-bytes.ts';

// Source: Standard MIDI Files 1.0, RP-001 (MIDI Manufacturers Association), public; from memory.

/** Ticks in a quarter note. */
const TICKS = 960;

/** Types of the written meta events. */
const [TRACK_NAME, MARKER, END, TEMPO, METER] = [0x03, 0x06, 0x2f, 0x51, 0x58];

/** MIDI clocks and thirty-second notes in a quarter note, for the time signature event. */
const [CLOCKS, THIRTY_SECONDS] = [24, 8];

interface Event {
  readonly tick: number;
  readonly type: number;
  readonly data: readonly number[];
}

/** A variable-length number: seven bits a byte, the highest first; all but the last byte have their top bit set. */
const variable = (value: number): number[] => {
  const bytes = [value % 128];
  for (let rest = Math.floor(value / 128); rest > 0; rest = Math.floor(rest / 128)) bytes.unshift((rest % 128) + 128);
  return bytes;
};

const bigEndian = (value: number, count: number): number[] =>
  Array.from({ length: count }, (_, n) => Math.floor(value / 256 ** (count - 1 - n)) % 256);

const text = (words: string): number[] => [...new TextEncoder().encode(words)];

/**
 * Tempo in whole microseconds a quarter note. In a ramp each quarter note has the tempo of its own length; the rounding error
 * is carried to the next, so that times stay within a microsecond a quarter note of the song's.
 */
const tempoEvents = (map: TempoMap): Event[] => {
  let behind = 0;
  return map.steps.map(({ seconds, tempo }, n): Event => {
    const next = map.steps[n + 1];
    const quarters = next ? map.quartersIn(next.seconds) - map.quartersIn(seconds) : 1;
    const length = (next ? next.seconds - seconds : 60 / tempo) * 1e6;
    const micros = Math.round((length + behind) / quarters);
    behind += length - micros * quarters;
    return { tick: Math.round(TICKS * map.quartersIn(seconds)), type: TEMPO, data: bigEndian(micros, 3) };
  });
};

const meterEvent = (bar: number, [beats, note]: Session['meter'], map: TempoMap): Event => ({
  tick: Math.round(TICKS * map.quartersIn(map.secondsAt(bar))),
  type: METER,
  data: [beats, Math.log2(note), (CLOCKS * 4) / note, THIRTY_SECONDS],
});

/**
 * Tempo map, meters, the beginnings of sections and markers as a Standard MIDI File of one track. Markers are at the nearest tick, of which a quarter
 * note has 960.
 */
export const midiFile = (session: Session): Uint8Array<ArrayBuffer> => {
  const map = new TempoMap(session);
  const events: Event[] = [
    { tick: 0, type: TRACK_NAME, data: text(session.title) },
    meterEvent(1, session.meter, map),
    ...session.meterChanges.map(({ bar, meter }) => meterEvent(bar, meter, map)),
    ...tempoEvents(map),
    ...placesOf(session).map(({ name, seconds }) => ({
      tick: Math.round(TICKS * map.quartersIn(seconds)),
      ...{ type: MARKER, data: text(name) },
    })),
  ].sort((a, b) => a.tick - b.tick);
  const bytes: number[] = [];
  let before = 0;
  for (const { tick, type, data } of [...events, { tick: events.at(-1)!.tick, type: END, data: [] }]) {
    bytes.push(...variable(tick - before), 0xff, type, ...variable(data.length), ...data);
    before = tick;
  }
  const head = [...text('MThd'), ...bigEndian(6, 4), ...bigEndian(0, 2), ...bigEndian(1, 2), ...bigEndian(TICKS, 2)];
  const track = [...text('MTrk'), ...bigEndian(bytes.length, 4)];
  return joinedBytes([head, track, bytes].map((part) => Uint8Array.from(part)));
};
