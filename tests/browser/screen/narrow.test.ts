import { expect, test } from 'vitest';
import { page } from 'vitest/browser';
import { accessibilityTroubles, openSong } from './open-screen.ts';

// 1440 x 900 at 200 % zoom (WCAG 2.2, 1.4.4) is 720 x 450 CSS px; a tablet upright has 768 x 1024.
test.each([
  [720, 450],
  [768, 1024],
])(
  'at %i x %i nothing lies beyond the side of the page, and what is selected comes into view',
  async (width, height) => {
    await openSong();
    await page.viewport(width, height);
    expect(document.documentElement.scrollWidth).toBeLessThanOrEqual(width);
    for (const area of ['banner', 'region'] as const) {
      const bar = area === 'banner' ? page.getByRole(area) : page.getByRole(area, { name: 'Hearing' });
      for (const control of bar.element().querySelectorAll('button, input'))
        expect(control.getBoundingClientRect().right, control.outerHTML).toBeLessThanOrEqual(width);
    }
    (page.getByRole('button', { name: 'Compressor of Drum squeeze' }).element() as HTMLElement).click();
    const editor = page.getByRole('region', { name: 'Workbench: Drum squeeze' });
    await expect.poll(() => editor.element().getBoundingClientRect().top).toBeLessThan(height - 100);
    await expect.element(page.getByRole('slider', { name: 'Threshold', exact: true })).toBeInTheDocument();
    expect(await accessibilityTroubles()).toEqual([]);
  },
);
