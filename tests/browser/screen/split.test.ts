import { describe, expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { isSplit } from '../../../src/session/chain/chain-items.ts';
import type { ChainItem, Session, SplitItem } from '../../../src/session/schema.ts';
import { firstProcessor, processorItem, splitItem } from '../../helpers/chain-items.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, lastSession, openSong, settled } from './open-screen.ts';

const withChain = (...chain: ChainItem[]): Session => {
  const session = fakeSession();
  return { ...session, buses: [{ ...session.buses[0]!, chain }, ...session.buses.slice(1)] };
};
const panel = () => page.getByRole('region', { name: 'Workbench: Drum squeeze' });
const item = (name: string) => panel().getByRole('listitem').getByRole('button', { name, exact: true });
const chainNow = (engine: Awaited<ReturnType<typeof openSong>>) => lastSession(engine).buses[0]!.chain;
const open = async (...chain: ChainItem[]) => {
  const engine = await openSong(withChain(...chain));
  await page.getByRole('button', { name: 'Drum squeeze', exact: true }).click();
  return engine;
};
const squeezed = splitItem([processorItem('compressor', { settings: { threshold: -30 } }), processorItem('gain')]);

describe('a split', () => {
  test('is made of a processor, gets a share and a law, and is dissolved again', async () => {
    const engine = await open(processorItem('eq'), processorItem('compressor'));
    await item('Compressor').click();
    await panel().getByRole('button', { name: 'Put in a split' }).click();
    const split = (): SplitItem => chainNow(engine).find(isSplit)!;
    expect(split().split.map(({ id }) => id)).toEqual(['compressor']);
    await panel().getByRole('textbox', { name: 'Mix value' }).fill('40');
    await userEvent.keyboard('{Enter}');
    expect(split().mix).toBe(40);
    await panel().getByRole('combobox', { name: 'Mix law' }).selectOptions('equal power');
    expect(split().law).toBe('equal power');
    await panel().getByRole('button', { name: 'Take all out of the split' }).click();
    expect(chainNow(engine).map(({ id }) => id)).toEqual(['eq', 'compressor']);
  });

  test('takes in one more processor, and lets one out', async () => {
    const engine = await open(squeezed);
    await item('Split').click();
    await panel().getByRole('button', { name: 'Add to the split' }).click();
    await page
      .getByRole('dialog')
      .getByRole('button', { name: /^Limiter/ })
      .click();
    expect((chainNow(engine)[0] as SplitItem).split.map(({ id }) => id)).toEqual(['compressor', 'gain', 'limiter']);
    await panel().getByRole('button', { name: 'Take out of the split' }).click();
    expect(chainNow(engine).map(({ id }) => id)).toEqual(['split', 'limiter']);
  });

  test('is bypassed as a whole', async () => {
    const engine = await open(squeezed);
    await item('Split').click();
    (panel().getByRole('switch', { name: 'Bypass', exact: true }).element() as HTMLElement).click();
    expect(chainNow(engine)[0]!.on).toBe(false);
  });
});

test('a file is chosen for the processor that works with one', async () => {
  const engine = await open(processorItem('convolution', { settings: { mix: 30 } }));
  await item('Convolution').click();
  await expect.element(panel().getByText('none: the signal passes unchanged')).toBeVisible();
  const input = panel().element().querySelector<HTMLInputElement>('input[type="file"]')!;
  await userEvent.upload(input, new File(['RIFF'], 'whole song.wav', { type: 'audio/wav' }));
  await expect.element(page.getByRole('alert')).toHaveTextContent(/at most 20 seconds/);
  await userEvent.upload(input, new File(['RIFF'], 'hall.wav', { type: 'audio/wav' }));
  await expect.poll(() => firstProcessor(chainNow(engine)).sound).toMatch(/hall\.wav$/);
  await expect.element(panel().getByRole('button', { name: 'Change' })).toBeVisible();
});

test('a make-up is matched over the section in loop, said, and one step of undo', async () => {
  const engine = await open(processorItem('compressor', { settings: { threshold: -30, autoMakeUp: true } }));
  await item('Compressor').click();
  await page.getByTitle(/^Loop Verse/).click();
  await panel().getByRole('button', { name: 'Match loudness over Verse' }).click();
  await expect.element(panel().getByText('Make-up set to +4.20 dB: output as loud as input over Verse.')).toBeVisible();
  expect(
    engine.calls.find(([name, asked]) => name === 'ask' && (asked as { kind: string }).kind === 'match make-up'),
  ).toEqual([
    'ask',
    { kind: 'match make-up', path: 'squeeze', item: 'compressor', range: { startSeconds: 10, endSeconds: 30 } },
  ]);
  expect(firstProcessor(chainNow(engine)).settings).toMatchObject({ makeUp: 4.2, autoMakeUp: false });
  await userEvent.keyboard('{Control>}z{/Control}');
  expect(firstProcessor(chainNow(engine)).settings).toEqual({ threshold: -30, autoMakeUp: true });
});

test('what a compressor turns down is drawn, with the levels behind its curve', async () => {
  await open(processorItem('compressor', { settings: { threshold: -30, ratio: 4 } }));
  await item('Compressor').click();
  await expect
    .element(panel().getByRole('img', { name: 'Gain reduction, 0:00 to 0:20: gain reduction up to 9.0 dB' }))
    .toBeVisible();
  expect(panel().element().querySelector('svg.axes .levels')?.getAttribute('d')).toMatch(/^M/);
});

test('a path that is late and inverted is flagged with its ways out, one of them a button', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Tape colour', exact: true }).click();
  const flags = page.getByRole('list', { name: 'Warnings' });
  expect(flags.getByRole('listitem').elements()).toHaveLength(2);
  await flags.getByRole('button', { name: 'Invert its polarity' }).click();
  expect(lastSession(engine).buses[3]!.chain.at(-1)).toMatchObject({
    processor: 'gain',
    settings: { polarity: 'inverted' },
  });
  const label = page.getByText('37 late, inv.').element();
  const cell = label.closest('td')!.getBoundingClientRect();
  expect(label.getBoundingClientRect().left).toBeGreaterThanOrEqual(cell.left + 2);
  expect(label.getBoundingClientRect().right).toBeLessThanOrEqual(cell.right - 8);
  expect(label.scrollWidth).toBeLessThanOrEqual(label.clientWidth);
});

describe.each(['light', 'dark'] as const)('the accessibility rules object to nothing, %s', (theme) => {
  test.each(['Split', 'Convolution', 'Compressor'])('on a chain with a split, at %s', async (name) => {
    await open({ ...squeezed, mix: 40 }, processorItem('convolution', { settings: { mix: 30 } }));
    document.documentElement.dataset['theme'] = theme;
    await item(name).click();
    await settled();
    expect(await accessibilityTroubles()).toEqual([]);
  });
});
