import { spawnSync } from 'node:child_process';
import { resolve } from 'node:path';
import { expect, test } from 'vitest';
import { mono, sine } from '../helpers/signals.ts';
import { Workplace } from './command.ts';

const place = new Workplace();
place.writeAudio('tone.wav', mono(sine({ hz: 997, seconds: 1 })));
place.write('text.wav', 'no sound');

/** Runs a program as a user does who stands in the folder of the sounds. */
const spawned = (program: string, ...args: readonly string[]) => {
  const { status, stdout, stderr } = spawnSync(program, args, { cwd: place.folder, encoding: 'utf8' });
  return { status, stdout, stderr };
};

test('as a program: one JSON document on standard output, nothing on standard error, exit 0', () => {
  const { status, stdout, stderr } = spawned(
    process.execPath,
    resolve('src/cli/run.mjs'),
    'measure',
    'tone.wav',
    '--json',
  );
  expect([status, stderr]).toEqual([0, '']);
  expect(JSON.parse(stdout)).toMatchObject([{ file: 'tone.wav', sampleRate: 48_000 }]);
});

test('as an npm script: paths are those of the folder in which the user stands', () => {
  const npm = ['--prefix', resolve('.'), 'run', '-s', 'tributary', '--'];
  const { status, stdout } = spawned('npm', ...npm, 'measure', 'tone.wav', '--json');
  expect(status).toBe(0);
  expect(JSON.parse(stdout)).toMatchObject([{ file: 'tone.wav' }]);
});

test('as a program: bad input is exit 2 and one sentence, with no stack trace', () => {
  const { status, stdout, stderr } = spawned(process.execPath, resolve('src/cli/run.mjs'), 'measure', 'text.wav');
  expect([status, stdout]).toEqual([2, '']);
  expect(stderr).toMatch(/^text\.wav cannot be read: [^\n]*\.\n$/);
});
