import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { chainOf } from '../../../src/session/chain/chain-edits.ts';
import { allItems } from '../../../src/session/chain/chain-items.ts';
import { fakeSession } from './fake-session.ts';
import { lastSession, openSong } from './open-screen.ts';

const [squeeze, other] = fakeSession().buses.map(({ id }) => id) as [string, string];
const otherName = fakeSession().buses[1]!.name;

const open = async () => {
  const engine = await openSong();
  const now = () => (engine.calls.some(([name]) => name === 'apply') ? lastSession(engine) : fakeSession());
  return (path: string): string[] =>
    allItems(chainOf(now(), path)).map((item) => ('processor' in item ? item.processor : 'split'));
};
const tile = (name: string) => page.getByRole('button', { name, exact: true });

/** Drags one element onto another, as the pointer does. */
const drag = (from: Element, to: Element, init: PointerEventInit = {}): void => {
  const middle = (element: Element): PointerEventInit => {
    const { left, top, width, height } = element.getBoundingClientRect();
    return { clientX: left + width / 2, clientY: top + height / 2, button: 0, bubbles: true, ...init };
  };
  from.dispatchEvent(new PointerEvent('pointerdown', middle(from)));
  window.dispatchEvent(new PointerEvent('pointermove', middle(to)));
  window.dispatchEvent(new PointerEvent('pointerup', middle(to)));
};

test('a processor is copied to another path, cut from it, and a chain is copied as a whole', async () => {
  const chain = await open();
  const [before, theirs] = [chain(squeeze), chain(other)];
  (tile('Compressor of Drum squeeze').element() as HTMLElement).focus();
  await userEvent.keyboard('{Control>}c{/Control}');
  await tile(otherName).click();
  await userEvent.keyboard('{Control>}v{/Control}');
  expect(chain(other)).toEqual([...theirs, 'compressor']);
  await expect.element(page.getByRole('button', { name: `Undo paste Compressor on ${otherName}` })).toBeVisible();
  const pasted = page.getByRole('button', { name: `Compressor of ${otherName}` });
  (pasted.elements().at(-1) as HTMLElement).focus();
  await userEvent.keyboard('{Control>}x{/Control}');
  expect(chain(other)).toEqual(theirs);
  await tile('Drum squeeze').click();
  await userEvent.keyboard('{Control>}c{/Control}{Control>}v{/Control}');
  expect(chain(squeeze)).toEqual([...before, ...before]);
});

test('a picture of a processor is dragged within its chain and to another row, with Ctrl as a copy', async () => {
  const chain = await open();
  const theirs = chain(other);
  drag(tile('EQ of Drum squeeze').element(), tile('Saturator of Drum squeeze').element());
  await expect.poll(() => chain(squeeze)).toEqual(['compressor', 'saturator', 'eq']);
  const row = (): Element => document.querySelector(`[data-place="row ${other}"]`)!;
  drag(tile('EQ of Drum squeeze').element(), row());
  await expect.poll(() => chain(other)).toEqual([...theirs, 'eq']);
  drag(tile('Compressor of Drum squeeze').element(), row(), { ctrlKey: true });
  await expect.poll(() => chain(other)).toEqual([...theirs, 'eq', 'compressor']);
  expect(chain(squeeze)).toEqual(['compressor', 'saturator']);
});
