import { expect, test } from 'vitest';
import { Console } from '../../src/cli/console.ts';
import { aligned } from '../../src/cli/tables.ts';
import { changeText, numberText } from '../../src/measure/definitions/figure-text.ts';

test('numbers have their decimals, a sign where they are changes, and never a minus zero', () => {
  expect([numberText(-0.04, 1), numberText(-0.06, 1), numberText(null, 1), numberText(3, 0)]).toEqual([
    '0.0',
    '-0.1',
    '-',
    '3',
  ]);
  expect([changeText(0.04, 1), changeText(0.06, 1), changeText(-2, 1), changeText(null, 1)]).toEqual([
    '0.0',
    '+0.1',
    '-2.0',
    '-',
  ]);
});

test('columns stand under each other, numbers from the right', () => {
  expect(
    aligned(
      [
        ['', 'a', 'b'],
        ['long name', '1.0', 'x'],
        ['n', '-10.0', 'yy'],
      ],
      [2],
    ),
  ).toBe(['               a  b', 'long name    1.0  x', 'n          -10.0  yy', ''].join('\n'));
});

test('progress shows where somebody watches, and gives way to what is said', () => {
  const told = (watched: boolean): string => {
    let all = '';
    const console = new Console({ out: (text) => (all += text), err: (text) => (all += text), watched });
    console.progress('Rendering', 0.251);
    console.progress('Rendering', 0.259);
    console.note('A note.');
    console.out('answer\n');
    return all;
  };
  expect(told(false)).toBe('A note.\nanswer\n');
  expect(told(true)).toBe('\r\u001b[KRendering ... 25 %\r\u001b[KA note.\nanswer\n');
});
