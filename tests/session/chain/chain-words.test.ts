import { expect, test } from 'vitest';
import { itemTitle, settingLines } from '../../../src/session/chain/chain-words.ts';
import type { ProcessorItem } from '../../../src/session/schema.ts';
import { processorItem, splitItem } from '../../helpers/chain-items.ts';

const item = (processor: string, settings: ProcessorItem['settings'] = {}, on = true): ProcessorItem =>
  processorItem(processor, { settings, on });

test('every setting is said, with its unit, given or not', () => {
  expect(settingLines(item('gain', { gain: -3.25 }))).toEqual(['gain -3.3 dB, polarity normal']);
  expect(settingLines(item('delay', { time: '1/8 dotted' }))[0]).toMatch(
    /^time 1\/8 dotted, right offset 0\.0 ms, feedback 30 %/,
  );
  expect(settingLines(item('compressor', { ratio: 4 }))[0]).toContain('ratio 4.0:1');
});

test('what belongs together stands in one line; a band that is off is not said', () => {
  expect(settingLines(item('eq'))).toEqual(['All bands: design matched, auto gain off']);
  expect(settingLines(item('eq', { 'band2.on': true, 'band2.gain': 3, 'band5.gain': 6 }))).toEqual([
    'Band 2: shape bell, frequency 100 Hz, gain 3.0 dB, Q 0.71, mode stereo, dynamic off',
    'All bands: design matched, auto gain off',
  ]);
});

// By what each shape is: cuts are Butterworth, whose order (slope) fixes the Q; a band-pass or notch has no gain.
test.each([
  ['bell', ['gain', 'Q', 'dynamic', 'threshold']],
  ['high shelf', ['gain', 'Q', 'dynamic', 'threshold']],
  ['tilt', ['gain', 'Q', 'dynamic', 'threshold']],
  ['low cut', ['slope']],
  ['high cut', ['slope']],
  ['band-pass', ['Q']],
  ['notch', ['Q']],
])('of a %s only the settings that it uses are said', (shape, used) => {
  const [line] = settingLines(item('eq', { 'band1.on': true, 'band1.shape': shape, 'band1.dynamic': 'down' }));
  const said = ['gain', 'Q', 'slope', 'dynamic', 'threshold'].filter((word) => line!.includes(`, ${word} `));
  expect([...said].sort()).toEqual([...used].sort());
  expect(line).toContain(`shape ${shape}, frequency 40 Hz`);
});

test('what a band’s dynamics are set to is said of a band that has them', () => {
  const [first, second] = settingLines(
    item('eq', { 'band1.on': true, 'band1.threshold': -50, 'band2.on': true, 'band2.dynamic': 'down' }),
  );
  expect(first).not.toMatch(/threshold|ratio|range|attack|release/);
  expect(second).toMatch(
    /dynamic down, threshold -30\.0 dB, relative threshold -60\.0 dB, ratio 2\.0:1, range 12\.0 dB, attack 10\.0 ms, release 150 ms$/,
  );
});

test('a processor that is switched off says so', () => {
  expect([itemTitle(item('eq')), itemTitle(item('eq', {}, false))]).toEqual(['EQ', 'EQ (bypassed)']);
});

test('what a processor works with is said first, chosen or not', () => {
  const convolution = { ...item('convolution', { mix: 20 }), sound: 'rooms/hall.wav' };
  expect(settingLines(convolution)[0]).toBe('impulse response rooms/hall.wav');
  expect(settingLines(item('convolution'))[0]).toBe('impulse response not chosen');
});

test('a mix below 100 % is said', () => {
  expect(itemTitle({ ...item('eq'), mix: 50 })).toBe('EQ (mix 50 %)');
  expect(itemTitle(splitItem([item('eq')], { mix: 12.5, law: 'equal power', on: false }))).toBe(
    'Split (mix 12.5 %, equal power, bypassed)',
  );
});
