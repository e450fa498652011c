import { describe, expect, test } from 'vitest';
import { pairsAmong, roughAmong, fileNameParts } from '../../src/intake/file-names.ts';

// Names as sessions of various programs write them out (common practice).
describe('the name of a file tells track, group and side', () => {
  test.each([
    ['01 Kick In.wav', 'Kick In', 'Drums', null],
    ['03-02_SNARE BTM_bip.wav', 'SNARE BTM', 'Drums', null],
    ['OH_L.wav', 'OH L', 'Drums', 'left'],
    ['Overheads.R.aif', 'Overheads.R', 'Drums', 'right'],
    ['roomR.wav', 'RoomR', 'Drums', 'right'],
    ['Gtr Riff take 2.wav', 'Gtr Riff', 'Guitars', null],
    ['AcGtr (L).wav', 'AcGtr (L)', 'Guitars', 'left'],
    ['bass_di_v3.flac', 'Bass di', 'Bass', null],
    ['T12. Wurli Keys-consolidated.wav', 'Wurli Keys', 'Keys', null],
    ['Violins 1_24bit.wav', 'Violins 1', 'Strings', null],
    ['Horns left.wav', 'Horns left', 'Brass', 'left'],
    ['LeadVox_comp.wav', 'LeadVox', 'Vocals', null],
    ['BGV 3.wav', 'BGV 3', 'Vocals', null],
    ['Riser FX.wav', 'Riser FX', 'Effects', null],
    ['stems/Drums/Left tape.wav', 'Left tape', 'Drums', null],
    ['Thing 7.wav', 'Thing 7', null, null],
    ['0421.wav', '0421', null, null],
    ['Fuller.wav', 'Fuller', null, null],
  ])('%s', (path, name, group, side) => {
    expect(fileNameParts(path)).toMatchObject({ name, group, side });
  });

  test('who sings is told apart from who plays', () => {
    expect(['Lead Vox.wav', 'Voice pad.wav', 'Bass.wav'].map((path) => fileNameParts(path).isSung)).toEqual([
      true,
      false,
      false,
    ]);
  });
});

test('left and right of one name, of one channel and one rate each, are a pair', () => {
  const file = (path: string, channels = 1, sampleRate = 48_000, seconds = 60) => ({
    told: fileNameParts(path),
    ...{ channels, sampleRate, seconds },
  });
  const files = [
    file('OH_R.wav'),
    file('Kick.wav'),
    file('OH_L.wav'),
    file('Gtr L.wav', 2),
    file('Gtr R.wav', 2),
    file('Key L.wav'),
    file('Key R.wav', 1, 44_100),
  ];
  expect(pairsAmong(files)).toEqual([{ left: 2, right: 0 }]);
});

test.each([
  [['Kick.wav', 'Song rough 2.wav', 'Mix.wav'], 'Song rough 2.wav'],
  [['Kick.wav', 'a/Song_mix.wav'], 'a/Song_mix.wav'],
  [['Kick.wav', 'Drum mix.wav'], null],
])('the rough among %j', (paths, rough) => {
  expect(roughAmong(paths)).toBe(rough);
});
