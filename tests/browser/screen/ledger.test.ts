import { expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { accessibilityTroubles, lastSession, openSong } from './open-screen.ts';
import type { LedgerRow } from '../../../src/blend/ledger/ledger.ts';
import type { Asking, Question } from '../../../src/engine/questions.ts';
import type { FakeEngine } from './fake-engine.ts';
import { fakeLedger } from './fake-ledger.ts';
import { fakeSession } from './fake-session.ts';

const view = () => page.getByRole('region', { name: 'Ledger' });
const questions = (engine: FakeEngine): unknown[] =>
  engine.calls.filter(([name]) => name === 'ask').map(([, question]) => question);

const openLedger = async (): Promise<FakeEngine> => {
  const engine = await openSong();
  await page.getByRole('button', { name: 'Ledger …' }).click();
  await expect
    .element(view().getByRole('table', { name: 'Change that each path makes, the whole song' }))
    .toBeVisible();
  await expect.element(view().getByText(/alone with the mix as received/)).not.toBeInTheDocument();
  return engine;
};

const cells = (path: string): string[] =>
  [
    ...view()
      .getByRole('row', { name: new RegExp(path) })
      .element()
      .querySelectorAll('td'),
  ].map((cell) => cell.textContent.trim());

test('the ledger is asked for once, of the whole song, and shows what each path does in the mix and alone', async () => {
  const engine = await openLedger();
  expect(questions(engine)).toEqual([{ kind: 'ledger', section: null }]);
  await expect.element(view().getByText('Of the whole song, before the mix bus.')).toBeVisible();
  const [, inTheMix, ...others] = cells('Drum squeeze');
  // The fake engine adds 0.7 LU to what it does in the mix.
  const alone = others[5]!;
  expect(Number(alone) - Number(inTheMix)).toBeCloseTo(0.7, 1);
});

/** A ledger whose rows come when they are told to come. */
const openSlowly = async () => {
  const engine = await openSong();
  const ledger = fakeLedger(fakeSession(), 1.5);
  let asking: Asking<LedgerRow> = {};
  engine.ask = ((_: Question, given: Asking<LedgerRow>) => {
    asking = given;
    return new Promise((_, reject) =>
      given.signal!.addEventListener('abort', () => reject(given.signal!.reason as Error)),
    );
  }) as FakeEngine['ask'];
  await page.getByRole('button', { name: 'Ledger …' }).click();
  const come = (id: string): void => asking.onRow?.(ledger.paths.find((row) => row.id === id)!);
  return { come, part: (part: number) => asking.onProgress?.(part) };
};

test('what is known live stands there at once, measured rows come in its place one by one, and all can be cancelled', async () => {
  const { come, part } = await openSlowly();
  await expect.element(view().getByRole('row', { name: /Drum squeeze/ })).toBeVisible();
  const [, live, ...others] = cells('Drum squeeze');
  expect(others[5]).toBe('–');
  part(0.4);
  await expect
    .element(view().getByRole('progressbar', { name: 'Measuring the ledger' }))
    .toHaveAttribute('value', '0.4');
  come('squeeze');
  await expect.poll(() => cells('Drum squeeze')[1]).not.toBe(live);
  expect(cells('Drum squeeze')[7]).not.toBe('–');
  expect(cells('Bass')[7]).toBe('–');
  await view().getByRole('button', { name: 'Cancel', exact: true }).click();
  await expect.poll(() => cells('Drum squeeze')[1]).toBe(live);
  await expect.element(view().getByRole('button', { name: 'Measure', exact: true })).toBeEnabled();
});

test('over a section every path stands there from the start, without figures until it has been measured', async () => {
  const { come } = await openSlowly();
  await view().getByLabelText('Section of the song').selectOptions('Chorus (0:40–1:00)');
  const table = view().getByRole('table', { name: 'Change that each path makes, Chorus, 0:40–1:00' });
  await expect.element(table).toBeVisible();
  const { groups, buses } = fakeSession();
  expect(table.element().querySelectorAll('tbody tr')).toHaveLength(groups.length + buses.length);
  await expect.poll(() => new Set(cells('Bass'))).toEqual(new Set(['–']));
  come('bass');
  await expect.poll(() => cells('Bass')[1]).not.toBe('–');
  expect(new Set(cells('Drum squeeze'))).toEqual(new Set(['–']));
});

test('another stretch is asked for by its name, and the table says which one it is of', async () => {
  const engine = await openLedger();
  const before = cells('Bass')[1];
  await view().getByLabelText('Section of the song').selectOptions('Chorus (0:40–1:00)');
  await expect.element(view().getByText('Of Chorus, 0:40–1:00, before the mix bus.')).toBeVisible();
  await expect
    .element(view().getByRole('table', { name: 'Change that each path makes, Chorus, 0:40–1:00' }))
    .toBeVisible();
  expect(questions(engine).at(-1)).toEqual({
    kind: 'ledger',
    section: { name: 'Chorus', startSeconds: 40, endSeconds: 60 },
  });
  expect(cells('Bass')[1]).not.toBe(before);
});

test('a chosen path shows its sentence and figures, and what each of its processors does once that is asked for', async () => {
  const engine = await openLedger();
  await view().getByRole('button', { name: 'Drum squeeze' }).click();
  const detail = view().getByRole('region', { name: 'Drum squeeze in detail' });
  await expect.element(detail.getByText(/^Adds .* LU, mostly/)).toBeVisible();
  await view().getByLabelText('Section of the song').selectOptions('Verse (0:10–0:30)');
  await detail.getByRole('button', { name: 'Measure each processor' }).click();
  await expect.element(detail.getByRole('rowheader', { name: 'Compressor' })).toBeVisible();
  expect(questions(engine).at(-1)).toEqual({
    kind: 'processors',
    path: 'squeeze',
    section: { name: 'Verse', startSeconds: 10, endSeconds: 30 },
  });
});

test('a path whose chain is empty says so in place of processors', async () => {
  await openLedger();
  await view().getByRole('button', { name: 'Keys and pad' }).click();
  await expect.element(view().getByText('No active processors.')).toBeVisible();
});

test('after a change the ledger says that it is old, until it is measured again', async () => {
  const engine = await openLedger();
  await page.getByRole('button', { name: 'Back to the paths' }).click();
  (page.getByRole('slider', { name: 'Blend of Drum squeeze' }).element() as HTMLElement).focus();
  await userEvent.keyboard('{ArrowRight}');
  expect(lastSession(engine).buses[0]!.blendDb).toBe(-11.4);
  await page.getByRole('button', { name: 'Ledger …' }).click();
  await expect.element(view().getByText(/The mix has changed since/)).toBeVisible();
  await view().getByRole('button', { name: 'Measure again' }).click();
  await expect.element(view().getByText(/The mix has changed since/)).not.toBeInTheDocument();
  expect(questions(engine)).toHaveLength(2);
});

test('a refusal is shown as it is said, and can be asked again', async () => {
  const engine = await openSong();
  const { ask } = engine;
  engine.ask = () => Promise.reject(new Error('The mix is still being measured: ask again in a moment.'));
  await page.getByRole('button', { name: 'Ledger …' }).click();
  await expect.element(view().getByText(/The mix is still being measured/)).toBeVisible();
  engine.ask = ask.bind(engine);
  await view().getByRole('button', { name: 'Measure', exact: true }).click();
  await expect.element(view().getByText(/The mix is still being measured/)).not.toBeInTheDocument();
});

test('the flow picture draws every hand-over, and tells it in words too', async () => {
  await openLedger();
  await page.getByText('Flow', { exact: true }).click();
  const picture = view().getByRole('img', { name: 'Where the loudness of the mix comes from, the whole song' });
  await expect.element(picture).toBeVisible();
  const told = view().getByRole('list', { name: 'Streams' });
  const drawn = picture.element().querySelectorAll('.stream');
  expect(drawn.length).toBeGreaterThan(25);
  expect(told.element().querySelectorAll('li')).toHaveLength(drawn.length);
  await expect.element(told.getByText(/^Drums to Drum squeeze: \d/)).toBeInTheDocument();
  // Nothing is cut off at the right.
  const { right } = view().element().getBoundingClientRect();
  for (const text of picture.element().querySelectorAll('text'))
    expect(text.getBoundingClientRect().right).toBeLessThanOrEqual(right);
});

test('Escape leads back to the paths', async () => {
  await openLedger();
  await userEvent.keyboard('{Escape}');
  await expect.element(view()).not.toBeInTheDocument();
  await expect.element(page.getByRole('region', { name: 'Paths' })).toBeVisible();
});

test.each(['light', 'dark'])('the accessibility rules hold for figures and flow, %s', async (theme) => {
  await openLedger();
  document.documentElement.dataset['theme'] = theme;
  await view().getByRole('button', { name: 'Voice' }).click();
  await view().getByRole('button', { name: 'Measure each processor' }).click();
  await expect.element(view().getByText(/The mix with each minus/)).toBeVisible();
  expect(await accessibilityTroubles()).toEqual([]);
  await page.getByText('Flow', { exact: true }).click();
  expect(await accessibilityTroubles()).toEqual([]);
});
