import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { presets } from '../../../src/session/presets/presets.ts';
import type { ChainItem, ProcessorItem, Session } from '../../../src/session/schema.ts';
import { processorItem } from '../../helpers/chain-items.ts';
import { fakeSession } from './fake-session.ts';
import { lastSession, openSong } from './open-screen.ts';

const panel = () => page.getByRole('region', { name: /^Workbench: / });

const withChain = (chain: ChainItem[]): Session => {
  const session = fakeSession();
  return { ...session, buses: [{ ...session.buses[0]!, chain }, ...session.buses.slice(1)] };
};

const compressors = (count: number, settings: ProcessorItem['settings'] = {}): ChainItem[] =>
  Array.from({ length: count }, (_, i) => processorItem('compressor', { id: `c${i + 1}`, settings }));

test('a long chain stays in its column and says how many more there are; the chain list shows the chosen one', async () => {
  await openSong(withChain(compressors(20)));
  const more = page.getByRole('button', { name: /more of Drum squeeze/ });
  const cell = more.element().closest('td')!;
  const right = cell.getBoundingClientRect().right;
  for (const button of cell.querySelectorAll('button')) {
    expect(button.getBoundingClientRect().right).toBeLessThanOrEqual(right);
  }
  const pictures = cell.querySelectorAll('button').length - 1;
  expect(more.element().textContent).toBe(`+${20 - pictures}`);
  await more.click();
  await panel().getByRole('button', { name: 'Add processor' }).click();
  await page.getByRole('dialog').getByRole('button', { name: /^Gain/ }).click();
  const list = panel().element().querySelector('.list')!.getBoundingClientRect();
  const added = panel().getByRole('listitem').last().element().getBoundingClientRect();
  expect(added.bottom).toBeLessThanOrEqual(list.bottom + 1);
});

test('a key is connected beside the setting that listens to it', async () => {
  const engine = await openSong(withChain(compressors(1, { sideChain: 'external' })));
  await page.getByRole('button', { name: 'Compressor of Drum squeeze' }).click();
  await panel().getByRole('tab', { name: 'Side-chain' }).click();
  await panel().getByRole('combobox', { name: 'Key input of Drum squeeze' }).selectOptions('Bass');
  expect(lastSession(engine).buses[0]!.key).toBe('bass');
});

test('a preset says where it usually lands, in the list and where it was laid', async () => {
  await openSong();
  const preset = presets.find(({ usualBlendDb }) => usualBlendDb !== null)!;
  const lands = `Usual blend: ${preset.usualBlendDb!.join(' to ').replaceAll('-', '\u2212')} dB.`;
  await page.getByRole('button', { name: '+ Add a bus' }).click();
  const choice = page.getByRole('dialog').getByRole('button', { name: new RegExp(`^${preset.name}`, 'i') });
  for (const words of [preset.purpose, `Listen for: ${preset.listenFor}`, `Take care: ${preset.caution}`, lands]) {
    await expect.element(choice).toHaveTextContent(words);
  }
  await choice.click();
  await expect.element(panel()).toHaveTextContent(lands);
});

test('a long list is searched by name or purpose, and Enter takes the first that is found', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: '+ Add a bus' }).click();
  const choices = () => document.querySelectorAll('[popover] li button').length;
  await expect.poll(choices).toBeGreaterThan(8);
  await expect.element(page.getByRole('searchbox')).toHaveFocus();
  await userEvent.keyboard('empty');
  await expect.poll(choices).toBe(1);
  await userEvent.keyboard('{Enter}');
  expect(lastSession(engine).buses.at(-1)).toMatchObject({ name: 'New bus' });
});

test('a group is made a voice; with tracks it says why it cannot be removed', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Drums', exact: true }).click();
  await expect.element(panel().getByText(/move its tracks first/)).toBeVisible();
  (panel().getByRole('switch', { name: 'Vocal' }).element() as HTMLElement).focus();
  await userEvent.keyboard('{Tab}{Shift>}{Tab}{/Shift} ');
  expect(lastSession(engine).groups[0]!.vocal).toBe(true);
  expect(engine.view.playing).toBe(false);
});

test('a figure that is not there says why', async () => {
  const engine = await openSong();
  engine.show({ findings: { ...engine.view.findings, paths: new Map() } });
  const row = page.getByRole('row', { name: /Drum squeeze/ }).element();
  const titles = () => [...row.querySelectorAll<HTMLElement>('td.figure:not(:last-child)')].map(({ title }) => title);
  await expect.poll(titles).toEqual(Array(4).fill('Not measured yet'));
});

test.each([
  [1440, 900],
  [1280, 720],
])('what the mix bus does is not cut off at %i x %i', async (width, height) => {
  await openSong();
  await page.viewport(width, height);
  await page.getByRole('button', { name: 'Mix bus', exact: true }).click();
  const summary = panel().element().querySelector('.summary')!;
  expect(summary.scrollWidth).toBeLessThanOrEqual(summary.clientWidth);
});

test('a track moved to a new group keeps its feeds and every path its colour; it is said, and one click undoes it', async () => {
  const engine = await openSong();
  const hueOf = (name: string): string =>
    page.getByRole('button', { name, exact: true }).element().closest('tr')!.style.getPropertyValue('--hue');
  const names = ['Drums', 'Voice', 'Drum squeeze', 'Tape colour', 'Air'];
  const before = names.map(hueOf);
  await page.getByRole('button', { name: '+ Add a group' }).click();
  await page.getByRole('textbox', { name: 'Name of the new group' }).fill('Kick and snare');
  await userEvent.keyboard('{Enter}');
  const groupOf = (track: string) => page.getByRole('combobox', { name: `Group of ${track}` });
  await page.getByRole('button', { name: '4 tracks' }).click();
  await groupOf('Kick').selectOptions('Kick and snare');
  const added = lastSession(engine).groups.at(-1)!;
  expect(added.sends).toEqual(lastSession(engine).groups[0]!.sends);
  expect(names.map(hueOf)).toEqual(before);
  expect(before).not.toContain(hueOf('Kick and snare'));
  const told =
    'Kick was moved to Kick and snare: Kick and snare now feeds Drum squeeze and Tape colour, as Drums does.';
  await expect.element(page.getByRole('status').filter({ hasText: told })).toBeVisible();
  await page.getByRole('button', { name: 'Undo', exact: true }).click();
  expect(lastSession(engine).tracks[0]!.group).toBe('drums');
  expect(lastSession(engine).groups.at(-1)!.sends).toEqual([]);
  await expect.element(page.getByText(told)).not.toBeInTheDocument();
});

test('a track gets a group of its own, named after it, in one step', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: '4 tracks' }).click();
  await page.getByRole('combobox', { name: 'Group of Snare' }).selectOptions('a new group, Snare');
  const { groups, tracks } = lastSession(engine);
  expect(groups.at(-1)!.name).toBe('Snare');
  expect(tracks.find(({ name }) => name === 'Snare')!.group).toBe(groups.at(-1)!.id);
  await page.getByRole('button', { name: 'Undo', exact: true }).click();
  expect(lastSession(engine).groups.map(({ name }) => name)).not.toContain('Snare');
});

test('a number outside of what is allowed is told of while it is typed', async () => {
  await openSong();
  await page.getByRole('button', { name: '4 tracks' }).click();
  const gain = page.getByRole('textbox', { name: 'Gain of Kick' });
  await gain.fill('40');
  const range = page.getByText('−90 to 24 dB');
  await expect.element(range).toBeVisible();
  await gain.fill('4');
  await expect.element(range).not.toBeInTheDocument();
});
