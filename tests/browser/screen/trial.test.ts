import { describe, expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { binomialTail } from '../../../src/blend/trial/binomial.ts';
import { presentationsOf } from '../../../src/blend/trial/blind-trial.ts';
import type { Trial } from '../../../src/session/schema.ts';
import type { FakeEngine } from './fake-engine.ts';
import { lastSession, openSong, settled } from './open-screen.ts';

const calls = (engine: FakeEngine, name: string): (readonly unknown[])[] =>
  engine.calls.filter(([called]) => called === name);
const lastHeard = (engine: FakeEngine): readonly unknown[] => calls(engine, 'hear').at(-1)!;
const logged = (engine: FakeEngine): Trial => lastSession(engine).trials.at(-1)!;

const openTrial = async (): Promise<FakeEngine> => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Compare …' }).click();
  await page.getByRole('button', { name: 'Blind trial …' }).click();
  await expect.element(page.getByRole('dialog', { name: 'Blind trial' })).toBeVisible();
  return engine;
};

const planned = async (count: number): Promise<void> => {
  await page.getByLabelText('Number of trials').fill(`${count}`);
  await userEvent.keyboard('{Enter}');
};

const start = async (): Promise<void> => {
  await page.getByRole('button', { name: 'Start' }).click();
  await expect.element(page.getByText(/^Trial 1 of/)).toBeVisible();
};

describe('a blind trial', () => {
  test('by ABX is heard and answered from keys, gives the exact probability, and is logged', async () => {
    const engine = await openTrial();
    await planned(4);
    await page.getByLabelText('Section', { exact: true }).selectOptions('Chorus');
    await start();
    expect(calls(engine, 'loop').at(-1)).toEqual(['loop', { startSeconds: 40, endSeconds: 60 }]);
    expect(calls(engine, 'compare').at(-1)).toEqual(['compare', ['rough', 'mix']]);
    for (let n = 0; n < 4; n++) {
      await userEvent.keyboard('a');
      const first = lastHeard(engine)[1];
      await userEvent.keyboard('b');
      const second = lastHeard(engine)[1];
      await userEvent.keyboard('x');
      const [, x, throughSilence] = lastHeard(engine);
      expect(new Set([first, second])).toEqual(new Set(['rough', 'mix']));
      expect(throughSilence).toBe('throughSilence');
      // Three right answers and one wrong.
      await userEvent.keyboard((x === first) === n < 3 ? '1' : '2');
    }
    const trial = logged(engine);
    expect(trial).toMatchObject({ kind: 'abx', a: 'rough', b: 'mix', section: 'Chorus', planned: 4 });
    expect(trial.answers).toEqual(['right', 'right', 'right', 'wrong']);
    await expect.element(page.getByRole('dialog')).toHaveTextContent(binomialTail(3, 4).toFixed(4));
    await expect.element(page.getByRole('dialog')).toHaveTextContent('3 of 4 right');
    await expect.element(page.getByText(/^Rough against Mix, Chorus/)).toBeVisible();
    await expect.element(page.getByText(/A was|B was/)).not.toBeInTheDocument();
    expect(calls(engine, 'loop').at(-1)).toEqual(['loop', null]);
    expect(lastHeard(engine)).toEqual(['hear', 'mix']);
  });

  test('presents what its seed says, so that it can be checked afterwards', async () => {
    const engine = await openTrial();
    await planned(3);
    await start();
    const firsts: unknown[] = [];
    const xs: unknown[] = [];
    for (let n = 0; n < 3; n++) {
      await userEvent.keyboard('ba');
      firsts.push(lastHeard(engine)[1] === 'rough' ? 'a' : 'b');
      await userEvent.keyboard('x');
      xs.push(lastHeard(engine)[1] === 'rough' ? 'a' : 'b');
      await userEvent.keyboard('1');
    }
    const presentations = presentationsOf(logged(engine));
    expect(presentations.map(({ first }) => first)).toEqual(firsts);
    expect(presentations.map(({ x }) => x)).toEqual(xs);
  });

  test('of preference notes which side was preferred, and one undo takes the log back', async () => {
    const engine = await openTrial();
    await page.getByText('Preference', { exact: true }).click();
    await planned(2);
    await start();
    expect(page.getByRole('button', { name: 'X', exact: true }).query()).toBeNull();
    for (let n = 0; n < 2; n++) {
      await userEvent.keyboard('ba');
      await userEvent.keyboard(lastHeard(engine)[1] === 'mix' ? '1' : '2');
    }
    expect(logged(engine).answers).toEqual(['b', 'b']);
    await expect.element(page.getByRole('dialog')).toHaveTextContent('Mix was chosen 2 of 2 times');
    await page.getByRole('button', { name: 'Close' }).click();
    await userEvent.keyboard('{Control>}z{/Control}');
    expect(lastSession(engine).trials).toEqual([]);
  });

  test('cannot be answered before everything in it has been heard', async () => {
    await openTrial();
    await start();
    const answer = page.getByRole('button', { name: 'X is A' });
    await expect.element(answer).toHaveAttribute('aria-disabled', 'true');
    await userEvent.keyboard('1');
    await expect.element(page.getByText(/^Trial 1 of/)).toBeVisible();
    await expect.element(page.getByText('Not taken: B and X have not been heard yet.')).toBeVisible();
    await userEvent.keyboard('b');
    await answer.click({ force: true });
    await expect.element(page.getByText('Not taken: X has not been heard yet.')).toBeVisible();
    await userEvent.keyboard('x');
    await expect.element(answer).toHaveAttribute('aria-disabled', 'false');
    await expect.element(page.getByText(/^Not taken/)).not.toBeInTheDocument();
  });

  test('shows nothing that tells which is which', async () => {
    const engine = await openTrial();
    await start();
    const shown = (): string => {
      const copy = document.body.cloneNode(true) as HTMLElement;
      // What follows the user's own key, not the side behind it.
      for (const element of copy.querySelectorAll('[aria-pressed]')) element.removeAttribute('aria-pressed');
      return copy.innerHTML.replaceAll(/ on\b/g, '').replaceAll(/\d+:\d\d\.\d/g, '');
    };
    const views = new Set<string>();
    const heard = new Set<unknown>();
    for (const key of ['a', 'b', 'x', 'a', 'x', 'b']) {
      await userEvent.keyboard(key);
      await settled();
      if (['a', 'b'].includes(key) && heard.size < 2) {
        heard.add(lastHeard(engine)[1]);
        continue;
      }
      views.add(shown());
    }
    expect(heard.size).toBe(2);
    expect(views.size).toBe(1);
    const dialog = page.getByRole('dialog', { name: 'Blind trial' }).element();
    expect(dialog.outerHTML).not.toMatch(/rough|received|mix|without|seed/i);
    await expect.element(page.getByText('what is playing is hidden')).toBeVisible();
  });

  test('that is broken off is logged as unfinished, without a result', async () => {
    const engine = await openTrial();
    await start();
    await userEvent.keyboard('abx1');
    expect(engine.view.playing).toBe(true);
    await page.getByRole('button', { name: 'Stop trial' }).click();
    // Nothing played before it.
    expect(engine.view.playing).toBe(false);
    expect(logged(engine)).toMatchObject({ planned: 16 });
    expect(logged(engine).answers).toHaveLength(1);
    await expect.element(page.getByText('Stopped after 1 of 16: no result.').first()).toBeVisible();
    await expect.element(page.getByText(/^Earlier trials/)).not.toBeInTheDocument();
    await page.getByRole('button', { name: 'Another trial' }).click();
    await page.getByText('Earlier trials: 1').click();
    await expect.element(page.getByText('Stopped after 1 of 16: no result.')).toBeVisible();
  });

  test('Escape breaks off too, and gives the ears back', async () => {
    const engine = await openTrial();
    await start();
    await userEvent.keyboard('abx1{Escape}');
    // The browser tells that a dialogue was closed by Escape only after the key, and what is logged comes after that.
    await expect.element(page.getByRole('dialog')).not.toBeInTheDocument();
    await expect.poll(() => calls(engine, 'apply').length).toBeGreaterThan(0);
    expect(logged(engine).answers).toHaveLength(1);
    await userEvent.keyboard('1');
    expect(lastHeard(engine)).toEqual(['hear', 'rough']);
  });

  test('is matched even where matching was off, and leaves it off afterwards', async () => {
    const engine = await openSong();
    (page.getByRole('switch', { name: /^Loudness match/ }).element() as HTMLElement).click();
    await page.getByRole('button', { name: 'Compare …' }).click();
    await page.getByRole('button', { name: 'Blind trial …' }).click();
    await start();
    expect(calls(engine, 'match').at(-1)).toEqual(['match', true]);
    await page.getByRole('button', { name: 'Stop trial' }).click();
    expect(calls(engine, 'match').at(-1)).toEqual(['match', false]);
  });

  test('waits until both sides are ready, and says why it cannot be held', async () => {
    const engine = await openTrial();
    engine.show({ matchedLufs: null });
    await page.getByRole('button', { name: 'Start' }).click();
    await expect.element(page.getByRole('progressbar', { name: 'Preparing' })).toBeVisible();
    engine.show({ comparison: { ...engine.view.comparison, levels: new Map([['rough', null]]) } });
    await expect.element(page.getByRole('alert')).toHaveTextContent(/^Rough has no loudness over this section/);
    await page.getByRole('button', { name: 'Stop trial' }).click();
    await expect.element(page.getByRole('button', { name: 'Start' })).toBeVisible();
    expect(calls(engine, 'apply')).toEqual([]);
  });

  test('two equal sides cannot be compared', async () => {
    await openTrial();
    await page.getByLabelText('Side A').selectOptions('Mix');
    await expect.element(page.getByRole('button', { name: 'Start' })).toBeDisabled();
    await expect.element(page.getByText('Choose two different sides.')).toBeVisible();
  });
});
