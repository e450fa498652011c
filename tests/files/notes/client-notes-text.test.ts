import { expect, test } from 'vitest';
import { clientNotesIn } from '../../../src/files/notes/client-notes-text.ts';

const song = {
  passes: [],
  sections: [
    { name: 'Verse 1', startSeconds: 0, endSeconds: 20 },
    { name: 'Chorus', startSeconds: 20, endSeconds: 40 },
  ],
};
const read = (text: string) =>
  clientNotesIn(text, song, 'notes').map(({ text: words, startSeconds, endSeconds }) => [
    words,
    startSeconds,
    endSeconds,
  ]);

test('lines of a letter are notes: times, ranges, section names, bullets', () => {
  const letter = [
    'Overall great!',
    '- 1:23 vocal too loud',
    '• [0:45 - 1:02.5] more width here',
    '2) 1:02:03, tail is cut',
    '',
    'chorus: drums up a little',
    'Bridge: what about a delay?',
    '0:30–0:20 ends before it begins',
  ].join('\r\n');
  expect(read(letter)).toEqual([
    ['Overall great!', null, null],
    ['vocal too loud', 83, null],
    ['more width here', 45, 62.5],
    ['tail is cut', 3723, null],
    ['drums up a little', 20, 40],
    ['Bridge: what about a delay?', null, null],
    ['ends before it begins', 30, null],
  ]);
});

test('a table is read by its heading, quoted cells and other delimiters too', () => {
  expect(read('Time,End,Note\n1:05,,"snare, please"\n12.5,20,"say ""no"""\n,,everywhere\n')).toEqual([
    ['snare, please', 65, null],
    ['say "no"', 12.5, 20],
    ['everywhere', null, null],
  ]);
  expect(read('\uFEFFsection;comment\nChorus;louder\nNowhere;odd')).toEqual([
    ['louder', 20, 40],
    ['odd', null, null],
  ]);
});

test('what cannot be read is told by its row', () => {
  expect(() => read('time,note\nsoon,louder')).toThrow('notes: row 2, start');
  expect(() => read(' \n\n')).toThrow('at least one note');
});

test('a line that begins with what is no time stays whole', () => {
  expect(read('0:99 bad time\n1:2:3:4 odd')).toEqual([
    ['0:99 bad time', null, null],
    ['1:2:3:4 odd', null, null],
  ]);
});
