import { describe, expect, test } from 'vitest';
import { beatSeconds, clock, hertz, NO_FIGURE, plain, readNumber, signed } from '../../src/ui/shared/format.ts';

describe('numbers as the screen writes them', () => {
  test('a negative number has a true minus, and nothing is ever minus zero', () => {
    expect(plain(-3.14159, 2)).toBe('\u22123.14');
    expect(plain(-0.04)).toBe('0.0');
    expect(signed(-0.04)).toBe('0.0');
  });

  test('a change has its sign, none on zero', () => {
    expect([signed(1.25, 1), signed(0), signed(-2)]).toEqual(['+1.3', '0.0', '\u22122.0']);
  });

  test('a figure that does not exist is a dash', () => {
    expect([plain(null), plain(undefined), plain(Number.NaN), plain(-Infinity)]).toEqual(Array(4).fill(NO_FIGURE));
  });
});

test('typed numbers are read with a comma, either minus, k for thousands, and a unit behind', () => {
  expect(readNumber('-11,5 dB', 'dB')).toBe(-11.5);
  expect(readNumber('\u22126')).toBe(-6);
  expect(readNumber(' +.5')).toBe(0.5);
  expect(readNumber('2.2k')).toBe(2200);
  expect([readNumber('2 kHz', 'Hz'), readNumber('0.2s', 'ms'), readNumber('80 ms', 's')]).toEqual([2000, 200, 0.08]);
  expect([readNumber('4 : 1', ': 1'), readNumber('4:1', ':1'), readNumber('4', ':1')]).toEqual([4, 4, 4]);
  expect(readNumber('loud')).toBeNull();
  expect(readNumber('')).toBeNull();
});

test('what is no plain number, or is of another unit, is not read', () => {
  for (const text of ['1e9', '1.5.2', '--3', '6 dB 7', '0x10', '12 Hz', 'Infinity']) {
    expect(readNumber(text, 'dB'), text).toBeNull();
  }
});

test('what the screen writes it reads back', () => {
  for (const value of [-90, -11.5, -0.1, 0, 0.7, 24]) expect(readNumber(plain(value))).toBe(value);
});

test('times are read in minutes, and 59.96 s rounds down, not up to 60', () => {
  expect([clock(0), clock(61.9), clock(600)]).toEqual(['0:00', '1:01', '10:00']);
  expect(clock(59.96, true)).toBe('0:59.9');
});

test('a beat is the note of the meter; the tempo counts quarters whatever it is', () => {
  expect(beatSeconds({ tempo: 120, meter: [4, 4] })).toBe(0.5);
  expect(beatSeconds({ tempo: 120, meter: [6, 8] })).toBe(0.25);
});

test('frequencies are short', () => {
  expect([hertz(20), hertz(1000), hertz(12_500)]).toEqual(['20', '1 k', '12.5 k']);
});
