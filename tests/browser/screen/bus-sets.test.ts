import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { withHues } from '../../../src/session/hues.ts';
import { fakeSession } from './fake-session.ts';
import { lastSession, openSong } from './open-screen.ts';

const open = () => page.getByRole('button', { name: '+ Add bus set' }).click();
const choice = (name: string) => page.getByRole('dialog').getByRole('button', { name: new RegExp(`^${name}`) });

test('a bus set says what it lays and what it leaves out, and is laid in one step of undo', async () => {
  const session = withHues(fakeSession());
  const engine = await openSong(session);
  await open();
  await expect.element(choice('full band')).toHaveTextContent('Drum squeeze 2 from Drums');
  // One group holds the kit: its tracks feed what asks for their parts.
  await expect.element(choice('full band')).toHaveTextContent('Kick and snare crush from Kick + Snare');
  await choice('three-bus start').click();
  const laid = lastSession(engine);
  expect(laid.buses.slice(session.buses.length).map(({ name }) => name)).toEqual([
    'Drum squeeze 2',
    'Side spread 2',
    'Tape colour 2',
  ]);
  await expect.element(page.getByRole('region', { name: 'Workbench: Drum squeeze 2' })).toBeVisible();
  await expect.element(page.getByText(/^Added with blends 12 dB lower than in the set/)).toBeVisible();
  await userEvent.keyboard('{Control>}z{/Control}');
  expect(lastSession(engine).buses).toEqual(session.buses);
  expect(lastSession(engine).groups).toEqual(session.groups);
});

test('a set for which the song has nothing can be read of but not laid', async () => {
  const session = fakeSession();
  const groups = session.groups.map((group) => ({ ...group, name: `Part of ${group.id.length}`, vocal: false }));
  const tracks = session.tracks.map((track, n) => ({ ...track, name: `Take ${n}` }));
  await openSong({ ...session, groups, tracks });
  await open();
  await expect.element(choice('vocal first')).toBeDisabled();
  await expect.element(choice('vocal first')).toHaveTextContent('no group or track of lead vocal');
  await expect.element(choice('three-bus start')).toBeEnabled(); // all of it goes to tape
});
