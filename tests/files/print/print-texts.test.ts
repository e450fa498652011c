import { expect, test } from 'vitest';
import { plain } from '../../../src/files/report/markdown.ts';
import { printNames } from '../../../src/files/print/print-names.ts';
import { recallSheet } from '../../../src/files/report/recall-sheet.ts';
import { processorItem, splitItem } from '../../helpers/chain-items.ts';
import { smallSession } from '../../helpers/session-file.ts';

test('files are called after the song and the path, without signs that a file system refuses', () => {
  const session = smallSession();
  const [drums, voices] = session.groups;
  const named = {
    ...session,
    title: ' What/if: "this"? ',
    groups: [
      { ...drums!, name: '..\\up' },
      { ...voices!, name: '???' },
    ],
    buses: session.buses.map((bus) => ({ ...bus, name: 'Echo' })),
  };
  const { main, stems } = printNames(named);
  expect(main).toBe('What if this');
  expect([...stems.values()]).toEqual([
    'What if this - up',
    'What if this - voices',
    'What if this - Echo',
    'What if this - Echo (echo)',
    'What if this - Echo (plate)',
  ]);
  expect(printNames({ ...session, title: '...' }).main).toBe('mix');
});

test('names of the user are no signs in Markdown', () => {
  expect(plain('a | b\n*c* [d](e) <f>')).toBe('a \\| b \\*c\\* \\[d\\](e) \\<f\\>');
});

test('a recall sheet has a row for every track and a heading for every path', () => {
  const text = recallSheet(smallSession());
  expect(text).toContain(
    '| Voice | tracks/voice.wav | Voices | 0.0 dB | 25 % right | as in the file | normal | 0.000 s |',
  );
  for (const heading of ['### Drums (drums)', '### Squeeze (squeeze)', '### Plate (plate)', '## Mix bus']) {
    expect(text).toContain(`${heading}\n`);
  }
  expect(text).toContain('Blend -12.0 dB; sends to Plate at -3.0 dB, post-fader.');
});

test('a recall sheet tells where sections are, in seconds and bars', () => {
  const sections = [{ name: 'Chorus', startSeconds: 8, endSeconds: 12.5 }];
  // At 120 quarter notes a minute a bar of four is 2 s.
  const text = recallSheet({ ...smallSession(), tempo: 120, meter: [4, 4], sections });
  expect(text).toContain('Sections: Chorus 8.000 to 12.500 s (from bar 5).');
});

test('a recall sheet has the lines that are on, with every point', () => {
  const session = smallSession();
  const line = (id: string, on: boolean) => ({
    ...{ id, on, unit: 'seconds' as const, target: { of: 'drums', what: 'level' as const } },
    points: [
      { at: 1, value: -6, curve: 'linear' as const },
      { at: 2.5, value: -90, curve: 'hold' as const },
    ],
  });
  const text = recallSheet({ ...session, lines: [line('a', true)] });
  expect(text).toContain('## Automation\n\n- Drums, fader: 1.000 s -6.0 dB, linear; 2.500 s −∞\n');
  // Where the fader is told, it is the line that is to be set.
  expect(text).toContain('Fader automated: 1.000 s -6.0 dB, linear; 2.500 s −∞');
  expect(recallSheet({ ...session, lines: [line('a', false)] })).not.toContain('## Automation');
});

test('a recall sheet tells what a track and the rough feed, and what is soloed otherwise than usual', () => {
  const session = smallSession();
  const [kick, voice] = session.tracks;
  const send = { to: 'plate', levelDb: -6, tap: 'pre-fader' as const, on: true };
  const [squeeze, ...others] = session.buses;
  const text = recallSheet({
    ...session,
    panLaw: '-4.5 dB',
    rough: { file: 'rough.wav', offsetSeconds: 0, chain: [], sends: [send] },
    tracks: [{ ...kick!, key: 'voices', sends: [send] }, voice!],
    buses: [{ ...squeeze!, soloSafe: false }, ...others],
  });
  expect(text).toContain('pan law -4.5 dB.');
  expect(text).toContain('### Kick\n\nKey from Voices; sends to Plate at -6.0 dB, pre-fader.\n');
  expect(text).toContain('## The rough as a source\n\n### rough.wav\n\nSends to Plate at -6.0 dB, pre-fader.\n');
  expect(text).toContain('Blend -8.0 dB; not solo-safe.');
});

test('a recall sheet numbers what stands in a split under it, with every share', () => {
  const session = smallSession();
  const split = splitItem([processorItem('gain', { settings: { gain: -3 }, mix: 25 })], {
    mix: 40,
    law: 'equal power',
  });
  const text = recallSheet({ ...session, mixBus: { trimDb: 0, chain: [split] } });
  expect(text).toContain(
    '1. Split (mix 40 %, equal power)\n   1. Gain (mix 25 %)\n      - gain -3.0 dB, polarity normal\n',
  );
});
