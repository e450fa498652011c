import { spawnSync } from 'node:child_process';
import { mkdirSync } from 'node:fs';
import { resolve } from 'node:path';
import { expect, test } from 'vitest';
import { run, Workplace } from './command.ts';
import { SECONDS, writeSession, writeSounds } from './song.ts';

// What is left where a print ends before it is done: by a kill, by Ctrl-C, or by a disk that is full.

const place = new Workplace();
writeSounds(place);
const session = writeSession(place, 'song.json');
const program = [resolve('src/cli/run.mjs'), 'print', session, '--bits', '32f'];

/**
 * Sends a signal to the process that it is loaded into as soon as a call of the system's is done for the second time: no test has to
 * be quick enough for it.
 */
const stopper = (call: 'writeFile' | 'rename', signal: NodeJS.Signals): string => {
  const code = `
    import fs from 'node:fs';
    import { syncBuiltinESMExports } from 'node:module';
    const { ${call} } = fs.promises;
    let calls = 0;
    fs.promises.${call} = async (...args) => {
      await ${call}(...args);
      if (++calls === 2) process.kill(process.pid, '${signal}');
    };
    syncBuiltinESMExports();`;
  return `--import=data:text/javascript,${encodeURIComponent(code)}`;
};

/** Prints mix and stems into a folder, and is stopped on the way. */
const stopped = (out: string, call: 'writeFile' | 'rename', signal: NodeJS.Signals) => {
  const args = [stopper(call, signal), ...program, '--force', '--kinds', 'main,stems', '--out', place.path(out)];
  return spawnSync(process.execPath, args, { encoding: 'utf8' });
};

const unfinished = (name: string): boolean => /\.(part|old)$/.test(name);

test('a print that is killed while it writes leaves no file that looks whole, and the next one removes the rest', async () => {
  expect(stopped('killed', 'writeFile', 'SIGKILL').signal).toBe('SIGKILL');
  const left = place.list('killed');
  expect([left.length, left.filter(unfinished)]).toEqual([2, left]);
  expect((await run('print', session, '--out', place.path('killed'))).code).toBe(0);
  expect(place.list('killed').filter(unfinished)).toEqual([]);
  expect((await run('verify', place.path('killed'))).code).toBe(0);
});

test('killed while files take the place of older ones, whatever has its name is whole, and nothing is lost', async () => {
  const print = ['print', session, '--force', '--bits', '16', '--kinds', 'main,stems', '--out', place.path('over')];
  expect((await run(...print)).code).toBe(0);
  const before = place.list('over');
  expect(stopped('over', 'rename', 'SIGKILL').signal).toBe('SIGKILL');
  const sounds = place.list('over').filter((name) => name.endsWith('.wav'));
  for (const name of sounds)
    expect(place.readAudio(`over/${name}`).channels[0]).toHaveLength(Math.round(SECONDS * 48_000));
  expect((await run(...print)).code).toBe(0);
  expect(place.list('over')).toEqual(before);
  expect((await run('verify', place.path('over'))).code).toBe(0);
});

test('a print that is stopped by Ctrl-C leaves nothing', () => {
  expect(stopped('stopped', 'writeFile', 'SIGINT').signal).toBe('SIGINT');
  expect(place.has('stopped')).toBe(false);
});

/** A command run where `folder` is a disk of half a megabyte of its own, less than one file, and what stands there after it. */
const onSmallDisk = (folder: string, ...command: readonly string[]) => {
  const steps = `mount -t tmpfs -o size=512k none "$0" || exit 99; "$@" >&2; code=$?; ls -A "$0"; exit $code`;
  const { status, stdout, stderr } = spawnSync('unshare', ['-rm', 'sh', '-c', steps, folder, ...command], {
    encoding: 'utf8',
  });
  return { status, left: stdout, said: stderr };
};

const canMount = onSmallDisk(place.folder, 'true').status === 0;

test.runIf(canMount)('a disk that is full is told in one sentence, and nothing is left on it', () => {
  const out = place.path('full');
  mkdirSync(out);
  const { status, left, said } = onSmallDisk(out, process.execPath, ...program, '--out', out);
  expect([status, left]).toEqual([2, '']);
  expect(said).toMatch(
    /^.*Small song\.wav cannot be written: expected a place that can be written to, found no space left on the disk\.\n$/,
  );
});

test.runIf(canMount)('where the folder for temporary files is full, a print goes on in memory and says so', () => {
  const scratch = place.path('scratch');
  mkdirSync(scratch);
  const out = place.path('beside');
  const command = ['env', `TMPDIR=${scratch}`, process.execPath, ...program, '--out', out];
  const { status, left, said } = onSmallDisk(scratch, ...command);
  expect([status, left]).toEqual([0, '']);
  expect(said).toContain('they stay in memory; TMPDIR can name another folder.');
  expect(place.list('beside').filter((name) => !name.endsWith('.part'))).toContain('Small song.wav');
});
