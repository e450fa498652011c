import { csvParse } from 'd3-dsv';
import { parseMidi } from 'midi-file';
import { expect, test } from 'vitest';
import { csvLists } from '../../../src/files/exchange/csv-lists.ts';
import { midiFile } from '../../../src/files/exchange/midi-file.ts';
import { sessionFrom } from '../../helpers/sessions.ts';
import { CHANGING_TEMPO, RAMP_SECONDS } from '../../helpers/tempo-song.ts';

const session = sessionFrom({
  title: 'Song, "one"',
  ...CHANGING_TEMPO,
  sections: [
    { name: 'Verse, first', startSeconds: 1, endSeconds: 4 },
    { name: 'Chorus', startSeconds: 4, endSeconds: 4 + RAMP_SECONDS },
  ],
  tracks: [
    { id: 'kick-in', name: 'Kick', file: 'kick.wav', group: 'drums', gainDb: -3.5, pan: 0.25, offsetSeconds: 0.5 },
  ],
  groups: [{ id: 'drums', name: 'Drums', faderDb: -90, sends: [{ to: 'squeeze', levelDb: -6, tap: 'pre-fader' }] }],
  buses: [{ id: 'squeeze', name: 'Drum squeeze', blendDb: -11, key: 'drums' }],
  lines: [
    {
      id: 'a',
      target: { of: 'squeeze', what: 'level' },
      unit: 'bars',
      points: [
        { at: 3, value: -90, curve: 'linear' },
        { at: 5, value: -6 },
      ],
    },
    { id: 'b', target: { of: 'kick-in', what: 'pan' }, points: [{ at: 1, value: -0.5 }] },
  ],
});
const tables = new Map(csvLists(session).map(({ name, content }) => [name, csvParse(content)]));
const table = (name: string) => tables.get(name)!.map((row) => ({ ...row }));

test('levels, pans and sends stand in tables that another library reads', () => {
  expect(table('levels.csv').map(({ kind, id, name, level_db }) => [kind, id, name, level_db])).toEqual([
    ['track', 'kick-in', 'Kick', '-3.5'],
    ['group', 'drums', 'Drums', '-inf'],
    ['bus', 'squeeze', 'Drum squeeze', '-11'],
    ['mix bus', 'mix', 'Mix bus', '0'],
  ]);
  expect(table('levels.csv')[0]).toMatchObject({
    file: 'kick.wav',
    group: 'drums',
    pan: '0.25',
    offset_s: '0.5',
    on: 'true',
  });
  expect(table('levels.csv')[2]).toMatchObject({ key: 'drums' });
  expect(table('sends.csv')).toEqual([
    {
      from_id: 'drums',
      from: 'Drums',
      to_id: 'squeeze',
      to: 'Drum squeeze',
      level_db: '-6',
      tap: 'pre-fader',
      on: 'true',
    },
  ]);
});

test('sections, tempo and lines have their places in seconds and in bars', () => {
  const end = Number((4 + RAMP_SECONDS).toFixed(6));
  expect(table('sections.csv').map((row) => Object.values(row))).toEqual([
    ['Verse, first', '1', '4', '1.5', '3'],
    ['Chorus', '4', String(4 + RAMP_SECONDS), '3', '5'],
  ]);
  expect(table('tempo.csv').map((row) => Object.values(row))).toEqual([
    ['1', '0', '120', 'step', '4/4'],
    ['3', '4', '60', 'step', ''],
    ['4', expect.any(String), '', '', '6/8'],
    ['5', String(end), '120', 'ramp', ''],
    // One bar of 6/8, 3 quarter notes at 120.
    ['6', String(Number((4 + RAMP_SECONDS + 1.5).toFixed(6))), '90', 'step', ''],
  ]);
  expect(table('lines.csv').map((row) => Object.values(row))).toEqual([
    ['Drum squeeze, blend', 'squeeze', 'level', 'dB', 'true', '4', '3', '-inf', 'linear'],
    ['Drum squeeze, blend', 'squeeze', 'level', 'dB', 'true', String(end), '5', '-6', 'hold'],
    ['Kick, pan', 'kick-in', 'pan', '', 'true', '1', '1.5', '-0.5', 'hold'],
  ]);
});

test('a MIDI file puts every section where it is in seconds, as another library reads its tempo map', () => {
  const { header, tracks } = parseMidi(midiFile(session));
  expect([header.format, header.ticksPerBeat, tracks.length]).toEqual([0, 960, 1]);
  let [tick, seconds, micros] = [0, 0, 500_000];
  const places: [string, number][] = [];
  const meters: string[] = [];
  for (const event of tracks[0]!) {
    tick += event.deltaTime;
    seconds += (event.deltaTime / 960) * (micros / 1e6);
    if (event.type === 'setTempo') micros = event.microsecondsPerBeat;
    if (event.type === 'timeSignature') meters.push(`${tick}: ${event.numerator}/${event.denominator}`);
    if (event.type === 'marker') places.push([event.text, seconds]);
  }
  // 4 + 4 + 4 quarter notes before bar 4.
  expect(meters).toEqual(['0: 4/4', `${12 * 960}: 6/8`]);
  expect(places.map(([name]) => name)).toEqual(['Verse, first', 'Chorus']);
  // A tick at 60 BPM is a thousandth of a second; tempi are whole microseconds.
  for (const [n, [, at]] of places.entries()) expect(at).toBeCloseTo(session.sections[n]!.startSeconds, 5);
  const [name] = tracks[0]!;
  expect(name).toMatchObject({ type: 'trackName', text: 'Song, "one"' });
  // The last event is the tempo of bar 6: the ramp and bar 5 have taken as long as they should.
  expect(seconds).toBeCloseTo(4 + RAMP_SECONDS + 1.5, 5);
});
