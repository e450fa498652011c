import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, lastSession, openSong } from './open-screen.ts';

test('all sends are one table: set, tapped, added and removed there, and none runs in a circle', async () => {
  const engine = await openSong();
  const { groups, buses } = fakeSession();
  const group = groups.find(({ sends }) => sends.length > 0)!;
  const bus = buses.find(({ id }) => id === group.sends[0]!.to)!;
  const words = `from ${group.name} to ${bus.name}`;
  const sendNow = () =>
    lastSession(engine)
      .groups.find(({ id }) => id === group.id)!
      .sends.find(({ to }) => to === bus.id);
  await page.getByRole('button', { name: 'Sends …' }).click();
  const level = page.getByRole('textbox', { name: `Send ${words}, dB` });
  await level.fill('-7.5');
  await userEvent.keyboard('{Enter}');
  expect(sendNow()).toMatchObject({ levelDb: -7.5 });
  await page.getByRole('button', { name: `Tap of the send ${words}: post-fader` }).click();
  expect(sendNow()).toMatchObject({ tap: 'pre-fader' });
  expect(await accessibilityTroubles()).toEqual([]);
  await page.getByRole('button', { name: `Remove the send ${words}` }).click();
  expect(sendNow()).toBeUndefined();
  await page.getByRole('button', { name: `Send ${words}`, exact: true }).click();
  expect(sendNow()).toMatchObject({ levelDb: 0 });
  // A bus feeds another: the other must not feed it.
  const [one, two] = buses as [(typeof buses)[number], (typeof buses)[number]];
  const there = page.getByRole('button', { name: `Send from ${one.name} to ${two.name}`, exact: true });
  const back = page.getByRole('button', { name: `Send from ${two.name} to ${one.name}`, exact: true });
  await expect.element(back).toBeInTheDocument();
  await there.click();
  await expect.element(back).not.toBeInTheDocument();
});
