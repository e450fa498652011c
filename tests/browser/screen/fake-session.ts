import { processors } from '../../../src/dsp/core/registry.ts';
import { parseSession } from '../../../src/session/read/parse.ts';
import type { Session } from '../../../src/session/schema.ts';

type Settings = Record<string, number | string | boolean>;

const step = (processor: string, settings: Settings, on = true) => ({ id: processor, processor, on, settings });
const eq = (settings: Settings) => step('eq', settings);
const squeeze = (threshold: number, ratio: number) =>
  step('compressor', { threshold, ratio, attack: 4, release: 110, knee: 9, makeUp: 4 });

const highs = eq({
  'band1.on': true,
  'band1.shape': 'low cut',
  'band1.frequency': 140,
  'band6.on': true,
  'band6.gain': 4,
});
const dip = eq({ 'band3.on': true, 'band3.gain': -4, 'band3.frequency': 380 });
const grit = step('saturator', { ...processors.get('saturator')?.start });
const echoes = step('delay', { ...processors.get('delay')?.start });

const group = (name: string, chain: unknown[], sends: unknown[] = []) => ({
  id: name.split(' ')[0]!.toLowerCase(),
  name,
  chain,
  sends,
});
const bus = (id: string, name: string, blendDb: number, chain: unknown[], on = true) => ({
  id,
  name,
  blendDb,
  chain,
  on,
});
const send = (to: string, levelDb = 0) => ({ to, levelDb });
const track = (group: string, name: string, pan = 0) => ({
  id: `${name.toLowerCase().replaceAll(' ', '-')}`,
  name,
  file: `tracks/${name.toLowerCase().replaceAll(' ', '-')}.wav`,
  group,
  pan,
});

/** A song as large as a real one, for looking at the screen: five groups, six buses, chains of up to three processors. */
export const fakeSession = (): Session =>
  parseSession(
    JSON.stringify({
      format: 'tributary-session',
      version: 4,
      title: 'Low Tide',
      sampleRate: 48_000,
      tempo: 96,
      rough: { file: 'rough.wav' },
      sections: [
        { name: 'Intro', startSeconds: 0, endSeconds: 10 },
        { name: 'Verse', startSeconds: 10, endSeconds: 30 },
        { name: 'Bridge', startSeconds: 30, endSeconds: 40 },
        { name: 'Chorus', startSeconds: 40, endSeconds: 60 },
        { name: 'Out', startSeconds: 60, endSeconds: 72 },
      ],
      tracks: [
        ...['Kick', 'Snare', 'Hats', 'Shells'].map((name) => track('drums', name)),
        track('bass', 'Bass low'),
        ...['Keys left', 'Pad'].map((name, i) => track('keys', name, i - 0.5)),
        ...['Guitar one', 'Guitar two'].map((name, i) => track('guitars', name, i * 1.4 - 0.7)),
        ...['Lead', 'Backing'].map((name) => track('voice', name)),
      ],
      groups: [
        group('Drums', [dip], [send('squeeze'), send('tape', -2)]),
        group('Bass', [dip, squeeze(-22, 3)], [send('squeeze', -6), send('tape', -2)]),
        group('Keys and pad', [], [send('spread', -3), send('tape', -2)]),
        group('Guitars', [highs], [send('spread', -8), send('grit', -4), send('tape', -2)]),
        group(
          'Voice',
          [highs, squeeze(-26, 4), { ...grit, on: false }],
          [send('grit', -4), send('echo', -9), send('air', -6), send('tape', -2)],
        ),
      ],
      buses: [
        bus('squeeze', 'Drum squeeze', -11.5, [dip, squeeze(-31, 8), grit]),
        bus('spread', 'Side spread', -14, [squeeze(-20, 2)]),
        bus('grit', 'Midrange grit', -17, [highs, grit]),
        bus('tape', 'Tape colour', -15, [grit, dip]),
        bus('echo', 'Delay into plate', -19, [echoes, highs]),
        bus('air', 'Air', -21, [highs], false),
      ],
      mixBus: { trimDb: -6, chain: [dip, squeeze(-12, 1.5)] },
    }),
    'fake session',
  );
