import { expect, onTestFinished, test, vi } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { processorOf } from '../../../src/dsp/core/registry.ts';
import { applied, openSong } from './open-screen.ts';

/** Counts how often curves of a kind of processor are worked out. */
const curvesOf = (processor: string) => {
  const drawn = vi.spyOn(processorOf(processor).picture, 'points');
  onTestFinished(() => drawn.mockRestore());
  return drawn;
};

test('a move of one processor draws its own pictures anew, and those of no other', async () => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Compressor of Drum squeeze', exact: true }).click();
  const threshold = page.getByRole('slider', { name: 'Threshold', exact: true });
  await expect.element(threshold).toBeVisible();
  const before = applied(engine);
  const [own, others] = [curvesOf('compressor'), curvesOf('eq')];
  threshold.element().focus();
  await userEvent.keyboard('{ArrowRight}{ArrowRight}');
  await expect.poll(() => applied(engine)).toBe(before + 2);
  // At each of the two moves the large picture and the small one, though there are other compressors in the song.
  await expect.poll(() => own.mock.calls.length).toBe(4);
  expect(others).not.toHaveBeenCalled();
});
