import { execFileSync } from 'node:child_process';
import { mkdirSync, readdirSync, readFileSync, symlinkSync, writeFileSync } from 'node:fs';
import { chmod, mkdir, mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { readAudioFile, readFileBytes, requireWritable, writeFilesWhole } from '../../../src/files/node/node-files.ts';
import { WavStream } from '../../../src/files/node/node-wav-stream.ts';
import { writeWav } from '../../../src/files/wav/wav-write.ts';
import { ProblemError } from '../../../src/session/problem.ts';
import { sine } from '../signals.ts';

let folder = '';
beforeEach(async () => {
  folder = await mkdtemp(join(tmpdir(), 'files-test-'));
});
afterEach(async () => {
  await rm(folder, { recursive: true, force: true });
});

async function refusal(work: Promise<unknown>): Promise<ProblemError> {
  const error: unknown = await work.catch((reason: unknown) => reason);
  expect(error).toBeInstanceOf(ProblemError);
  return error as ProblemError;
}

/** Every file and folder below `folder`. */
const tree = async (): Promise<string[]> => (await readdir(folder, { recursive: true })).sort();

describe('reading', () => {
  test('an audio file', async () => {
    const audio = { sampleRate: 48000, channels: [sine(440, 48000, 4800)] };
    const path = join(folder, 'take.wav');
    await writeFile(path, writeWav(audio, '32f').bytes);
    expect(await readAudioFile(path)).toEqual(audio);
  });

  test('a missing file is called as the user called it', async () => {
    const { message, problem } = await refusal(readAudioFile(`${folder}/no/take.wav`));
    expect(message).toBe(`${folder}/no/take.wav is missing: expected a file, found nothing there.`);
    expect(problem.code).toBe('missing-file');
  });

  test('a folder', async () => {
    const { message } = await refusal(readAudioFile(folder));
    expect(message).toBe(`${folder} cannot be read: expected a file, found a folder.`);
  });

  test.skipIf(process.getuid?.() === 0)('a file that may not be opened', async () => {
    const path = join(folder, 'take.wav');
    await writeFile(path, 'x', { mode: 0 });
    expect((await refusal(readAudioFile(path))).message).toContain('found one that may not be opened');
  });

  test('a text file called .wav is refused with its path', async () => {
    const path = join(folder, 'take.wav');
    await writeFile(path, 'not sound');
    expect((await refusal(readAudioFile(path))).problem).toMatchObject({ path, found: 'a text file' });
  });
});

describe('writing all or nothing', () => {
  test('files and folders are made as needed, and nothing else is left', async () => {
    await writeFilesWhole(join(folder, 'a/b'), [
      { name: 'mix.txt', content: 'mix' },
      { name: 'stems/drums.bin', content: Uint8Array.of(1, 2, 3) },
    ]);
    expect(await tree()).toEqual(['a', 'a/b', 'a/b/mix.txt', 'a/b/stems', 'a/b/stems/drums.bin']);
    expect(await readFile(join(folder, 'a/b/mix.txt'), 'utf8')).toBe('mix');
    expect([...(await readFile(join(folder, 'a/b/stems/drums.bin')))]).toEqual([1, 2, 3]);
  });

  test('an older file is replaced, its neighbours stay', async () => {
    await writeFile(join(folder, 'mix.txt'), 'old');
    await writeFile(join(folder, 'other.txt'), 'other');
    await writeFilesWhole(folder, [{ name: 'mix.txt', content: 'new' }]);
    expect(await tree()).toEqual(['mix.txt', 'other.txt']);
    expect(await readFile(join(folder, 'mix.txt'), 'utf8')).toBe('new');
  });

  test('a failure while writing leaves the folder as it was', async () => {
    await writeFile(join(folder, 'stems'), 'a file where the second file needs a folder');
    await writeFile(join(folder, 'mix.txt'), 'old');
    const files = [
      { name: 'mix.txt', content: 'new' },
      { name: 'stems/drums.bin', content: 'x' },
    ];
    const { message, problem } = await refusal(writeFilesWhole(folder, files));
    expect(message).toContain(
      `${join(folder, 'stems/drums.bin')} cannot be written: expected a place that can be written to, ` +
        'found a file where a folder should be.',
    );
    expect(problem.code).toBe('unwritable');
    expect(await tree()).toEqual(['mix.txt', 'stems']);
    expect(await readFile(join(folder, 'mix.txt'), 'utf8')).toBe('old');
  });

  test('a failure while taking places brings back what was replaced and removes what was new', async () => {
    await writeFile(join(folder, 'a.txt'), 'old');
    await mkdir(join(folder, 'c.txt'));
    const files = ['a.txt', 'b.txt', 'c.txt', 'd/e.txt'].map((name) => ({ name, content: 'new' }));
    const { message } = await refusal(writeFilesWhole(folder, files));
    expect(message).toContain(`${join(folder, 'c.txt')} cannot be written`);
    expect(message).toContain('found a folder');
    expect(await tree()).toEqual(['a.txt', 'c.txt']);
    expect(await readFile(join(folder, 'a.txt'), 'utf8')).toBe('old');
  });

  test('a place where the system makes no folders is refused, not tried for ever', async () => {
    const { problem } = await refusal(writeFilesWhole('/proc/prints', [{ name: 'mix.wav', content: 'x' }]));
    expect(problem.code).toBe('unwritable');
  });

  test('whether a place can be written to is known before, and leaves nothing', async () => {
    await requireWritable(join(folder, 'to/be/made'));
    expect(await tree()).toEqual([]);
    await writeFile(join(folder, 'file'), '');
    const { message } = await refusal(requireWritable(join(folder, 'file', 'prints')));
    expect(message).toContain(`expected a folder at ${join(folder, 'file')}, found a file.`);
    expect((await refusal(requireWritable(join(folder, 'file')))).message).toContain(
      'expected a folder, found a file.',
    );
  });

  test('a folder made for nothing is removed with the ones above it', async () => {
    const files = [
      { name: 'same.txt', content: 'x' },
      { name: 'same.txt', content: 'y' },
    ];
    await refusal(writeFilesWhole(join(folder, 'new/deep'), files));
    expect(await tree()).toEqual([]);
  });

  test.each(['../outside.txt', '/outside.txt/../../x', '', '.'])(
    'the name %j leads out of the folder',
    async (name) => {
      const inner = join(folder, 'inner');
      expect((await refusal(writeFilesWhole(inner, [{ name, content: 'x' }]))).problem.code).toBe('out-of-range');
      expect(await tree()).toEqual([]);
    },
  );

  test.skipIf(process.getuid?.() === 0)('a folder that may not be written to', async () => {
    await chmod(folder, 0o500);
    expect((await refusal(writeFilesWhole(folder, [{ name: 'x', content: 'x' }]))).problem.code).toBe('unwritable');
    await chmod(folder, 0o700);
  });
});

test('only regular files are read: a pipe, a device, a folder and links in a ring are told at once', async () => {
  const pipe = join(folder, 'pipe.wav');
  execFileSync('mkfifo', [pipe]);
  const ring = join(folder, 'ring.wav');
  symlinkSync(ring, ring);
  for (const [path, found] of [
    [pipe, 'a pipe'],
    ['/dev/zero', 'a device'],
    [folder, 'a folder'],
    [ring, 'links that lead back to each other'],
    [join(folder, 'x\0.wav'), 'a name that no file can have'],
    [join(folder, 'n'.repeat(300)), 'a name that is too long'],
  ] as const) {
    await expect(readFileBytes(path), path).rejects.toThrow(found);
    await expect(WavStream.open(path), path).rejects.toThrow(found);
  }
});

test('what a killed run left is removed, what it had moved aside comes back, and a running one keeps its own', async () => {
  const place = join(folder, 'stale');
  mkdirSync(place);
  // No process has this number: the highest that Linux gives is 4194304.
  const dead = `${(4_194_305).toString(36)}${Date.now().toString(36)}`;
  const living = `${process.pid.toString(36)}${(Date.now() - 5).toString(36)}`;
  writeFileSync(join(place, `a.wav.${dead}.part`), 'half');
  writeFileSync(join(place, `old.wav.${dead}.old`), 'whole');
  writeFileSync(join(place, `b.wav.${living}.part`), 'half');
  await writeFilesWhole(place, [{ name: 'a.wav', content: 'new' }]);
  expect(readdirSync(place).sort()).toEqual(['a.wav', `b.wav.${living}.part`, 'old.wav']);
  expect(readFileSync(join(place, 'old.wav'), 'utf8')).toBe('whole');
});
