import { unzipSync } from 'fflate';
import { expect, test } from 'vitest';
import { zipped } from '../../src/ui/shared/zip.ts';

const file = (name: string, ...bytes: number[]) => ({ name, data: new Blob([Uint8Array.from(bytes)]) });

test('a zip holds every file as it was, without compression, whatever its name', async () => {
  const files = [
    file('Mix.wav', 1, 2, 3),
    file('Mix - Übung.wav'),
    file('Mix - report.md', ...Array<number>(5000).fill(7)),
  ];
  const zip = new Uint8Array(await (await zipped(files)).arrayBuffer());
  expect(zip.length).toBeGreaterThan(5003);
  const back = unzipSync(zip);
  expect(Object.keys(back)).toEqual(files.map(({ name }) => name));
  for (const { name, data } of files) expect(back[name]).toEqual(new Uint8Array(await data.arrayBuffer()));
});
