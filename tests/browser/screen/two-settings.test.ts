import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { lastSession, openSong } from './open-screen.ts';

test('X keeps a second setting of the open processor and goes between the two; undo may go there too', async () => {
  const engine = await openSong();
  const threshold = (): unknown => {
    const item = lastSession(engine).buses[0]!.chain[1]!;
    return 'settings' in item ? item.settings['threshold'] : null;
  };
  const letter = page.getByRole('button', { name: /^Setting [AB] of two/ });
  await page.getByRole('button', { name: 'Compressor of Drum squeeze' }).click();
  await userEvent.keyboard('x');
  await expect.element(letter).toHaveTextContent('Setting B of two');
  const slider = page.getByRole('slider', { name: 'Threshold', exact: true }).element() as HTMLElement;
  slider.focus();
  await userEvent.keyboard('{ArrowRight}');
  const second = threshold();
  await userEvent.keyboard('x');
  await expect.element(letter).toHaveTextContent('Setting A of two');
  const first = threshold();
  expect(first).not.toBe(second);
  await userEvent.keyboard('x');
  expect(threshold()).toBe(second);
  // Back to A by undo: X then goes to B again, and does not write A over it.
  await page.getByRole('button', { name: 'Undo setting B of Compressor in Drum squeeze' }).click();
  await expect.element(letter).toHaveTextContent('Setting A of two');
  expect(threshold()).toBe(first);
  await userEvent.keyboard('x');
  expect(threshold()).toBe(second);
});
