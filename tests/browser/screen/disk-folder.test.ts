import { afterEach, beforeEach, expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { parseSession } from '../../../src/session/read/parse.ts';
import { sessionText } from '../../../src/session/read/serialize.ts';
import { filesOf } from '../../../src/engine/files-of-session.ts';
import { fakeSession } from './fake-session.ts';
import { audioFile, lastSession, openEmpty } from './open-screen.ts';

// The browser's private storage stands for a folder that the user chooses: its handles are of the same kind.

const NAME = 'a song on the disk';
let folder: FileSystemDirectoryHandle;
const asked = window as { showDirectoryPicker?: unknown };
const own = asked.showDirectoryPicker;

beforeEach(async () => {
  folder = await (await navigator.storage.getDirectory()).getDirectoryHandle(NAME, { create: true });
  asked.showDirectoryPicker = () => Promise.resolve(folder);
});
afterEach(async () => {
  asked.showDirectoryPicker = own;
  await (await navigator.storage.getDirectory()).removeEntry(NAME, { recursive: true });
});

const handleAt = async (path: string, create = false): Promise<FileSystemFileHandle> => {
  const names = path.split('/');
  let at = folder;
  for (const name of names.slice(0, -1)) at = await at.getDirectoryHandle(name, { create });
  return at.getFileHandle(names.at(-1)!, { create });
};
const put = async (path: string, data: Blob): Promise<void> => {
  const writable = await (await handleAt(path, true)).createWritable();
  await data.stream().pipeTo(writable);
};
const textAt = async (path: string): Promise<string> => (await (await handleAt(path)).getFile()).text();

const button = (name: string) => page.getByRole('button', { name, exact: true });
const title = () => page.getByLabelText('Title of the song');

test('a session in a folder is opened with its files, and saved in its place', async () => {
  const song = fakeSession();
  await put('mix/session.json', new Blob([sessionText(song)]));
  for (const path of filesOf(song)) await put(`mix/${path}`, audioFile(path));
  const engine = await openEmpty();
  await button('Open a folder').click();
  await expect.element(title()).toHaveValue(song.title);
  expect(engine.view.missing).toEqual([]);
  await title().fill('Another title');
  await userEvent.keyboard('{Enter}');
  await button('Save session').click();
  await expect.element(page.getByText('Saved as session.json in the folder mix.')).toBeVisible();
  expect(parseSession(await textAt('mix/session.json'), '').title).toBe('Another title');

  await put('mix/session.json', new Blob([`${sessionText(song)} `]));
  await button('Save session').click();
  await expect
    .element(page.getByText(/^mix\/session\.json cannot be written: .*another program changed/))
    .toBeVisible();
  expect(parseSession(await textAt('mix/session.json'), '').title).toBe(song.title);
});

test('a folder of audio becomes a song that is saved in it; a file that came from elsewhere is put beside it', async () => {
  await put('takes/Kick.wav', audioFile('Kick.wav'));
  const engine = await openEmpty();
  await button('Open a folder').click();
  await page.getByRole('dialog').getByRole('button', { name: 'Add 1 file' }).click();
  await expect.element(title()).toHaveValue('New song');
  const dataTransfer = new DataTransfer();
  dataTransfer.items.add(audioFile('Bass.wav'));
  window.dispatchEvent(new DragEvent('drop', { dataTransfer, bubbles: true, cancelable: true }));
  await page.getByRole('dialog').getByRole('button', { name: 'Add 1 file' }).click();
  expect(lastSession(engine).tracks.map(({ file }) => file)).toEqual(['takes/Kick.wav', 'Bass.wav']);
  await button('Save session').click();
  await expect.element(page.getByText(`Saved as New song.json in the folder ${NAME}.`)).toBeVisible();
  expect(parseSession(await textAt('New song.json'), '').tracks).toHaveLength(2);
  expect(await textAt('Bass.wav')).toBe('RIFF Bass.wav');
});
