import { expect, test } from 'vitest';
import { writeWav } from '../../src/files/wav/wav-write.ts';
import { mono, sine, silence } from '../helpers/signals.ts';
import { run, Workplace } from './command.ts';
import { songSession, writeSession, writeSounds } from './song.ts';

const place = new Workplace();
writeSounds(place);
const wav = writeWav(mono(sine({ hz: 440, seconds: 0.5 })), '16').bytes;
place.write('good.wav', wav);
place.write('text.wav', 'This is a text file that is called .wav.\n');
place.write('cut.wav', wav.subarray(0, wav.length / 2));
place.write('empty.wav', '');
place.writeAudio('one.wav', mono(silence(1 / 48_000)));
place.writeAudio('six.wav', { sampleRate: 48_000, channels: Array.from({ length: 6 }, () => silence(0.5)) });
place.write('half.json', '[{"processor": "gain", "settings": {"gain": -6}}]');

/** What a user reads: exit 2, nothing on standard output, and one sentence on standard error. */
const refused = async (...args: readonly string[]): Promise<string> => {
  const before = place.list();
  const { code, out, err } = await run(...args);
  expect([code, out], err).toEqual([2, '']);
  expect(err).toMatch(/^[^\n]+\.\n$/);
  expect(err).not.toMatch(/ at .*:\d+:\d+|Error/);
  expect(place.list(), 'nothing half-written').toEqual(before);
  return err.trimEnd().replaceAll(place.folder, 'FOLDER');
};

test('what is no sound is refused by its name', async () => {
  const sentences: string[] = [];
  for (const name of ['text.wav', 'cut.wav', 'empty.wav', 'one.wav', 'nowhere.wav', '.']) {
    const sentence = await refused('measure', place.path(name));
    const rest = ['--chain', place.path('half.json'), '--out', place.path('never.wav')];
    expect(await refused('chain', place.path(name), ...rest)).toBe(sentence);
    sentences.push(sentence);
  }
  expect(sentences).toMatchInlineSnapshot(`
    [
      "FOLDER/text.wav cannot be read: expected a WAV, AIFF, CAF, FLAC, MP3, Ogg Vorbis or Ogg Opus file, found a text file.",
      "FOLDER/cut.wav cannot be read: expected 48000 bytes of samples, as its header says, found 23978 (24022 missing): the file is cut short, so copy or export it again.",
      "FOLDER/empty.wav cannot be read: expected a WAV, AIFF, CAF, FLAC, MP3, Ogg Vorbis or Ogg Opus file, found an empty file.",
      "FOLDER/one.wav is too short: expected at least 10 ms of audio, found a single sample.",
      "FOLDER/nowhere.wav is missing: expected a file, found nothing there.",
      "FOLDER cannot be read: expected a file, found a folder.",
    ]
  `);
});

test('one bad file among good ones: nothing is answered for any', async () => {
  expect(await refused('measure', place.path('good.wav'), place.path('text.wav'), '--json')).toContain('text.wav');
});

test('a session is refused with the file and the field', async () => {
  const bad: Readonly<Record<string, object | string>> = {
    cycle: {
      buses: [
        { id: 'double', name: 'Bass double', sends: [{ to: 'back' }] },
        { id: 'back', name: 'Back', sends: [{ to: 'double' }] },
      ],
    },
    processor: { buses: [{ id: 'double', name: 'Bass double', chain: [{ processor: 'loudener' }] }] },
    'missing file': { tracks: [{ id: 'drum', name: 'Big drum', file: 'tracks/drum.wav', group: 'bass' }] },
    'missing rough': { rough: { file: 'no-rough.wav' } },
    'text as sound': { tracks: [{ id: 'drum', name: 'Big drum', file: 'text.wav', group: 'bass' }] },
    'six channels': { tracks: [{ id: 'drum', name: 'Big drum', file: 'six.wav', group: 'bass' }] },
    'no tracks': { tracks: [] },
    'nothing on': {
      tracks: [{ id: 'drum', name: 'Big drum', file: 'good.wav', group: 'bass', on: false }],
    },
    'not a number': JSON.stringify(songSession()).replace('"blendDb":0', '"blendDb":NaN'),
    'no JSON at all': wav.reduce((text, byte) => text + String.fromCharCode(byte), '').slice(0, 200),
  };
  const sentences: Record<string, string> = {};
  for (const [name, content] of Object.entries(bad)) {
    const file =
      typeof content === 'string' ? place.write('bad.json', content) : writeSession(place, 'bad.json', { ...content });
    const sentence = await refused('ledger', file);
    expect(await refused('print', file, '--out', place.path('never'))).toBe(sentence);
    sentences[name] = sentence.replace(/must be .*, not "loudener"/, 'must be …, not "loudener"');
  }
  expect(sentences).toMatchInlineSnapshot(`
    {
      "cycle": "FOLDER/bad.json: buses[1].sends[0].to leads sound back to where it came from (double -> back -> double): expected sends and keys that only lead onward.",
      "missing file": "FOLDER/bad.json: tracks[0].file (track "Big drum") is missing: expected a file at FOLDER/tracks/drum.wav, found nothing there.",
      "missing rough": "FOLDER/bad.json: rough.file (the rough mix) is missing: expected a file at FOLDER/no-rough.wav, found nothing there.",
      "no JSON at all": "FOLDER/bad.json cannot be read: expected JSON, found RIFF at line 1, column 1.",
      "no tracks": "FOLDER/bad.json: tracks must be a list of at least 1 track, not an empty list.",
      "not a number": "FOLDER/bad.json cannot be read: expected JSON, found NaN at line 1, column 405.",
      "nothing on": "FOLDER/bad.json: tracks does not fit: expected at least one track that is on and sounds, found none.",
      "processor": "FOLDER/bad.json: buses[0].chain[0].processor must be …, not "loudener".",
      "six channels": "FOLDER/six.wav (track "Big drum") does not fit: expected one or two channels, found 6.",
      "text as sound": "FOLDER/text.wav (track "Big drum") cannot be read: expected a WAV, AIFF, CAF, FLAC, MP3, Ogg Vorbis or Ogg Opus file, found a text file.",
    }
  `);
});

test('a command line that cannot be meant is one sentence too', async () => {
  const session = writeSession(place, 'song.json');
  const good = place.path('good.wav');
  const half = place.path('half.json');
  const never = ['--out', place.path('never')];
  const lines: readonly (readonly string[])[] = [
    [],
    ['mesure', good],
    ['measure'],
    ['measure', good, '--loud'],
    ['chain', good],
    ['chain', good, good],
    ['chain', good, '--preset', 'drum squeeze', '--chain', half],
    ['chain', good, '--chain', half, '--blend', 'loud'],
    ['chain', good, '--chain', half, '--blend', '40'],
    ['chain', good, '--chain', half, '--blend'],
    ['chain', good, '--chain', half, '--bits', '20'],
    ['chain', good, '--chain', place.path('nowhere.json')],
    ['chain', place.path('six.wav'), '--chain', half],
    ['chain', good, '--chain', half, '--out', place.folder],
    ['ledger'],
    ['print', session],
    ['print', session, ...never, '--kinds', 'main,loud'],
    ['print', session, ...never, '--rate', '44100.5'],
    ['print', session, ...never, '--target', '-14LUFS'],
    ['print', session, ...never, '--ceiling', '3'],
    ['print', session, '--out', place.path('good.wav')],
    ['help', 'mesure'],
  ];
  const sentences: string[] = [];
  for (const line of lines) sentences.push(await refused(...line));
  expect(sentences).toMatchInlineSnapshot(`
    [
      "A command is missing or not known: expected one of measure, chain, presets, intake, ledger, sweep, solve, ride, compare, headroom, check, notes, recall, approval, print, export, bundle, unpack, verify; --help describes them.",
      "Unknown command 'mesure' (Did you mean measure?); --help lists the options.",
      "measure does not fit: expected files to measure, found none.",
      "Unknown option '--loud'; --help lists the options.",
      "chain does not fit: expected either --preset NAME, --chain FILE or --mix-bus SESSION, found none of them.",
      "Too many arguments for 'chain': expected 1 argument but got 2; --help lists the options.",
      "chain does not fit: expected either --preset NAME, --chain FILE or --mix-bus SESSION, found 2 of them.",
      "--blend must be a number between -90 and 24 dB, not "loud".",
      "--blend must be a number between -90 and 24 dB, not "40".",
      "Option '--blend <dB>' argument missing; --help lists the options.",
      "--bits must be "16", "24" or "32f", not "20".",
      "FOLDER/nowhere.json is missing: expected a file, found nothing there.",
      "FOLDER/six.wav does not fit: expected one or two channels, found 6.",
      "FOLDER cannot be written: expected a place that can be written to, found a folder.",
      "Missing required argument 'session'; --help lists the options.",
      "Required option '--out <folder>' not specified; --help lists the options.",
      "--kinds must be "main", "instrumental", "a-cappella", "without-lead", "stems", "group-stems" or "returns", not "loud".",
      "--rate must be a whole number, not "44100.5".",
      "--target must be a number between -70 and 0 LUFS, not "-14LUFS".",
      "--ceiling must be a number between -40 and 0 dBTP, not "3".",
      "FOLDER/good.wav cannot be written: expected a folder, found a file.",
      "A command is missing or not known: expected one of measure, chain, presets, intake, ledger, sweep, solve, ride, compare, headroom, check, notes, recall, approval, print, export, bundle, unpack, verify; --help describes them.",
    ]
  `);
});

test('an unknown preset is told with those that it may be meant for', async () => {
  const sentences: string[] = [];
  for (const name of ['dum squeeze', 'xylophone']) {
    sentences.push(await refused('chain', place.path('good.wav'), '--preset', name));
  }
  expect(sentences).toEqual([
    '--preset must be a chain that `tributary presets` lists (did you mean "drum squeeze", "drum attack" or "drum pumping"?), not "dum squeeze".',
    '--preset must be a chain that `tributary presets` lists, not "xylophone".',
  ]);
});

test('a preset or chain file that is wrong is refused with its place', async () => {
  const good = place.path('good.wav');
  const chains = [
    '{"processor": "gain"}',
    '[{"processor": "gain", "settings": {"gain": 99}}]',
    '[{"processor": "gain", "setings": {}}]',
    '[{"processor": "gain"},]',
    '"gain"',
  ];
  const sentences: string[] = [];
  for (const text of chains) {
    sentences.push(await refused('chain', good, '--chain', place.write('bad.json', text)));
  }
  expect(sentences).toMatchInlineSnapshot(`
    [
      "FOLDER/bad.json: format is missing: expected "tributary-preset".",
      "FOLDER/bad.json: [0].settings.gain must be between -60 and 24 dB, not 99.",
      "FOLDER/bad.json: [0].setings is not a field that is known here: expected "id", "processor", "sound", "on", "mix", "law" or "settings".",
      "FOLDER/bad.json cannot be read: expected JSON, found ] at line 1, column 24.",
      "FOLDER/bad.json must be an object, not "gain".",
    ]
  `);
});

test('--help is an answer, not a problem', async () => {
  for (const line of [['--help'], ['chain', '--help'], ['help', 'print']]) {
    const { code, out, err } = await run(...line);
    expect([code, err]).toEqual([0, '']);
    expect(out).toContain('Usage: tributary');
  }
});
