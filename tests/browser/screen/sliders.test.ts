import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { openSong } from './open-screen.ts';

// What is asked of a slider: ARIA Authoring Practices Guide, slider pattern (W3C).

const SLIDERS = '[role="slider"], [role="separator"][tabindex], input[type="range"]';
const all = (): HTMLElement[] => [...document.querySelectorAll<HTMLElement>(SLIDERS)];
const nameOf = (slider: HTMLElement): string =>
  slider.getAttribute('aria-label') ?? (slider as HTMLInputElement).labels?.[0]?.textContent ?? '';
const isRange = (slider: HTMLElement): slider is HTMLInputElement => slider instanceof HTMLInputElement;
const numberOf = (slider: HTMLElement, what: 'min' | 'max' | 'now'): number =>
  isRange(slider)
    ? Number(what === 'now' ? slider.value : slider[what])
    : Number(slider.getAttribute(`aria-value${what}`) ?? NaN);
const wordsOf = (slider: HTMLElement): string => slider.getAttribute('aria-valuetext') ?? '';

/** Opens a processor of the fake song: each brings its settings and the handles of its picture. */
const opens = [null, 'EQ of Drum squeeze', 'Compressor of Drum squeeze', /^Delay of/, /^Saturator of/];

test('every slider of the screen has a name, a range, a value in it, and words for that with their unit', async () => {
  await openSong();
  const seen = new Map<string, string>();
  for (const name of opens) {
    if (name !== null) (page.getByRole('button', { name }).first().element() as HTMLElement).click();
    await expect.poll(() => all().length).toBeGreaterThan(10);
    if (`${name}`.startsWith('Compressor')) await expect.poll(() => all().map(nameOf)).toContain('Ratio');
    for (const slider of all()) {
      const [min, max, now] = (['min', 'max', 'now'] as const).map((what) => numberOf(slider, what));
      seen.set(nameOf(slider), wordsOf(slider));
      expect(nameOf(slider), slider.outerHTML).not.toBe('');
      expect(max, slider.outerHTML).toBeGreaterThan(min!);
      expect(now, slider.outerHTML).toBeGreaterThanOrEqual(min!);
      expect(now, slider.outerHTML).toBeLessThanOrEqual(max!);
      expect(wordsOf(slider), slider.outerHTML).toMatch(/[−\d∞]/);
    }
  }
  expect(seen.get('Fader of Drums')).toBe('0.0 dB');
  expect(seen.get('Monitor')).toMatch(/^−\d+ dB$/);
  expect(seen.get('Place in the song')).toBe('bar 1, beat 1, 0:00');
  expect(seen.get('Ratio')).toMatch(/^\d.* : 1$/);
  expect(seen.get('Height of the workbench')).toMatch(/^\d+ px$/);
});

test('arrows move a slider up and down, Home and End go to its ends', async () => {
  await openSong();
  const sliders = [
    ...['Fader of Drums', 'Blend of Drum squeeze', 'Trim of Mix bus', 'Place in the song', 'Monitor'],
    ...[
      'Verse to Bridge',
      'Threshold',
      'Threshold, in the picture',
      'Width of the findings',
      'Height of the workbench',
    ],
  ];
  (page.getByRole('button', { name: 'Compressor of Drum squeeze' }).element() as HTMLElement).click();
  await expect.element(page.getByRole('slider', { name: 'Threshold', exact: true })).toBeInTheDocument();
  for (const name of sliders) {
    const slider = all().find((each) => nameOf(each) === name);
    expect(slider, `${name} among ${all().map(nameOf).join('; ')}`).toBeDefined();
    slider!.focus();
    const after = async (keys: string): Promise<number> => {
      await userEvent.keyboard(keys);
      return numberOf(slider!, 'now');
    };
    const [min, max] = [numberOf(slider!, 'min'), numberOf(slider!, 'max')];
    const least = await after('{Home}');
    expect(least, name).toBeCloseTo(min, 6);
    const isDown =
      slider!.getAttribute('role') === 'separator' && slider!.getAttribute('aria-orientation') === 'vertical';
    const up = await after(isDown ? '{ArrowLeft}' : '{ArrowUp}');
    expect(up, name).toBeGreaterThan(least);
    expect(await after(isDown ? '{ArrowRight}' : '{ArrowDown}'), name).toBeLessThan(up);
    // A level stops at 0 dB on the way.
    expect(await after('{End}{End}'), name).toBeCloseTo(max, 6);
    expect(document.activeElement, name).toBe(slider);
  }
});
