import { describe, expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { addBus, rename } from '../../../src/session/edits/edits.ts';
import { savePass } from '../../../src/session/passes/passes.ts';
import type { Session } from '../../../src/session/schema.ts';
import { coverOf, cutIn, overlapsIn } from './boxes.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, openSong, settled } from './open-screen.ts';

const LONG = 'Parallel midrange grit and body of all guitars, doubled';
const SIZES = [
  [1440, 900],
  [1280, 720],
  [1024, 700],
] as const;

/** A song of 17 paths with long names, and two passes. */
const longSong = (): Session => {
  const named = ['drums', 'squeeze', 'grit', 'voice'].reduce(
    (s, id, n) => rename(s, id, `${LONG} ${n + 1}`),
    fakeSession(),
  );
  const many = Array.from({ length: 6 }, (_, n) => `Bus for the end of the song ${n + 1}`).reduce(
    (s, name) => addBus(s, { name, blendDb: -12 }),
    named,
  );
  return savePass(savePass(many, `First pass of the long evening, ${LONG}`.slice(0, 80)), `Pass ${LONG}`);
};

const bar = (): Element => page.getByRole('region', { name: 'Hearing' }).element();
const flip = () => page.getByRole('button', { name: /^A \/ B/ });
const mixRow = () => page.getByRole('button', { name: 'Mix bus', exact: true });
/** Opens the ledger; its table stands there before it is measured, so what says that it is not must be gone. */
const measuredLedger = async () => {
  await page.getByRole('button', { name: 'Ledger …' }).click();
  const table = page.getByRole('table', { name: /^Change that each path makes/ });
  await expect.element(table).toBeVisible();
  await expect.element(page.getByText(/alone with the mix as received/)).not.toBeInTheDocument();
  return table;
};
/** The page of the test runner gives the screen no height of its own, as the app's page does. */
const fillWindow = (): void => {
  document.querySelector<HTMLElement>('.app')!.parentElement!.style.height = '100%';
};

/** Opens the song with long names in a window of the first size. */
const show = async (session = longSong()) => {
  const engine = await openSong(session);
  await page.viewport(...SIZES[0]);
  fillWindow();
  return engine;
};

/** Looks at one page in a window of each size. */
const atEachSize = async (look: (size: string) => void): Promise<void> => {
  for (const [width, height] of SIZES) {
    await page.viewport(width, height);
    await settled();
    look(`${width} x ${height}`);
  }
};

describe('at each size, with long names', () => {
  test('nothing in the header lies over another while the song is rendered', async () => {
    const engine = await show({ ...longSong(), title: LONG });
    engine.show({ state: { phase: 'rendering', progress: 1, message: 'Rendering what changed' } });
    await expect.element(page.getByRole('button', { name: 'Cancel' })).toBeVisible();
    await atEachSize((size) => expect(overlapsIn(page.getByRole('banner').element()), size).toEqual([]));
  });

  test('the head of every column stands whole in its own cell', async () => {
    await show();
    await atEachSize((size) => {
      const heads = [...document.querySelectorAll('thead .figure-name')];
      expect(heads.length, size).toBeGreaterThan(9);
      const outside = heads.filter((head) => {
        const words = document.createRange();
        words.selectNodeContents(head);
        const [text, cell] = [words.getBoundingClientRect(), head.closest('th')!.getBoundingClientRect()];
        return text.left < cell.left || text.right > cell.right;
      });
      expect(
        outside.map((head) => head.textContent),
        size,
      ).toEqual([]);
    });
  });

  test('all figures are within the findings, and each panel there is', async () => {
    await show();
    const findings = page.getByRole('complementary', { name: 'Findings' }).element();
    await page.getByRole('button', { name: 'More figures' }).click();
    const holdsAll = (panel: string) => (size: string) => {
      expect(findings.scrollWidth, `${panel}, ${size}`).toBeLessThanOrEqual(findings.clientWidth);
      expect(overlapsIn(findings), `${panel}, ${size}`).toEqual([]);
    };
    await atEachSize(holdsAll('More figures'));
    for (const panel of ['Guards', 'Targets', 'Over time']) {
      await page.getByText(panel, { exact: false }).first().click();
      await atEachSize(holdsAll(panel));
    }
  });
});

describe.each(SIZES)('at %i x %i, with long names', (width, height) => {
  const showAtSize = async (session = longSong()) => {
    const engine = await show(session);
    await page.viewport(width, height);
    return engine;
  };

  test('nothing in the hearing bar is cut or lies over another, whatever is heard and awaited', async () => {
    const session = longSong();
    const engine = await showAtSize(session);
    await page.getByRole('button', { name: `Hear the mix without ${LONG} 3` }).click();
    (page.getByRole('switch', { name: /^Loudness match/ }).element() as HTMLElement).click();
    const last = `pass:${session.passes.at(-1)!.id}` as const;
    engine.show({ audible: engine.view.audible.filter((side) => side !== last) });
    (page.getByRole('radio', { name: /^Pass / }).element() as HTMLElement).click();
    const preparing = new Map([[session.passes.at(-1)!.id, 0.4]]);
    engine.show({ comparison: { ...engine.view.comparison, preparing } });
    await expect.element(page.getByRole('status').filter({ hasText: /rendering Pass/ })).toBeVisible();
    expect(overlapsIn(bar())).toEqual([]);
    expect(cutIn(bar())).toEqual([]);
    expect(coverOf(flip().element())).toBeNull();
    await userEvent.click(flip());
  });

  test.skipIf(width < 1280)('all columns of the ledger are in view', async () => {
    await showAtSize();
    const table = await measuredLedger();
    const rows = table.element().parentElement!;
    expect(rows.scrollWidth).toBeLessThanOrEqual(rows.clientWidth);
  });

  test('the mix bus of 17 paths is in view and uncovered, with the bench and a notice open too', async () => {
    await showAtSize();
    expect(coverOf(mixRow().element())).toBeNull();
    await page.getByRole('button', { name: '+ Add bus set' }).click();
    await page.getByRole('dialog').getByRole('button').first().click();
    await expect.element(page.getByText(/lower than in the set/)).toBeVisible();
    const { bottom } = page.getByRole('region', { name: 'Paths' }).element().getBoundingClientRect();
    expect(coverOf(mixRow().element())).toBeNull();
    expect(mixRow().element().getBoundingClientRect().bottom).toBeLessThanOrEqual(bottom);
    // What is gone to by keys comes out from under it.
    (page.getByRole('button', { name: 'Bus for the end of the song 6', exact: true }).element() as HTMLElement).focus();
    await expect.poll(() => coverOf(document.activeElement!)).toBeNull();
  });
});

describe('the accessibility rules object to nothing, in light and dark,', () => {
  const stands = async (): Promise<void> => {
    for (const theme of ['light', 'dark']) {
      document.documentElement.dataset['theme'] = theme;
      await settled();
      expect(await accessibilityTroubles(), theme).toEqual([]);
    }
  };

  test('on figures that are old, in the table, the findings and the guards', async () => {
    const engine = await openSong();
    engine.apply = () => engine.show({ state: { phase: 'rendering', progress: 0.2, message: 'Rendering' } });
    await page.getByRole('button', { name: 'More figures' }).click();
    await page.getByRole('switch', { name: 'Mute Guitars' }).click();
    await expect.element(page.getByText(/Measuring what changed/)).toBeVisible();
    await stands();
    await page.getByText('Guards', { exact: false }).first().click();
    await stands();
  });

  test('on a ledger that is old', async () => {
    await openSong();
    await measuredLedger();
    await page.getByRole('button', { name: 'Back to the paths' }).click();
    await page.getByRole('switch', { name: 'Mute Guitars' }).click();
    await page.getByRole('button', { name: 'Ledger …' }).click();
    await expect.element(page.getByText(/measure again/)).toBeVisible();
    await stands();
  });

  test('on the targets', async () => {
    await openSong();
    await page.getByText('Targets', { exact: true }).click();
    await stands();
    await page.getByRole('button', { name: 'Find blends' }).click();
    await expect.element(page.getByRole('button', { name: 'Preview' })).toBeVisible();
    await stands();
  });
});
