import { describe, expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import type { SweepRow } from '../../../src/blend/sweep/sweep.ts';
import type { Asking, Question } from '../../../src/engine/questions.ts';
import type { FakeEngine } from './fake-engine.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, lastSession, openSong } from './open-screen.ts';

const findings = () => page.getByRole('complementary', { name: 'Findings' });
const asked = (engine: Awaited<ReturnType<typeof openSong>>, kind: string) =>
  engine.calls.filter(([name, question]) => name === 'ask' && (question as { kind: string }).kind === kind);

describe('guards', () => {
  test('a broken guard is counted on the tab and says what it is; a limit is the session’s own once it is set', async () => {
    await openSong();
    await findings().getByText('Guards 1!').click();
    await expect.element(page.getByText(/Width change is 4.2 dB/)).toBeVisible();
    const limit = page.getByRole('textbox', { name: 'Limit of width change' });
    await limit.fill('5');
    (limit.element() as HTMLElement).blur();
    await expect.element(page.getByRole('combobox', { name: 'Limits' })).toHaveValue('own');
    await page.getByRole('combobox', { name: 'Limits' }).selectOptions('gentle');
    await expect.element(limit).toHaveValue('1.5');
    expect(await accessibilityTroubles()).toEqual([]);
  });
});

describe('the sweep of a bus', () => {
  const sweep = async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: 'Tape colour', exact: true }).click();
    await page.getByText('Blend sweep').click();
    await page.getByRole('button', { name: 'Sweep Tape colour' }).click();
    return engine;
  };

  test('is asked of the engine for that bus, and tells what guards, hearing and knees say', async () => {
    const engine = await sweep();
    expect(asked(engine, 'sweep').at(-1)![1]).toMatchObject({ axis: { bus: 'tape' } });
    await expect.element(page.getByText('“mono loss” breaks above −2.4 dB.')).toBeVisible();
    await expect.element(page.getByText('It is heard from −17.3 dB up.')).toBeVisible();
    expect(await accessibilityTroubles()).toEqual([]);
  });

  test('draws its rows as they come, over the whole range, and is cancelled without a trace', async () => {
    const engine = await openSong();
    const { rows } = await engine.ask({
      kind: 'sweep',
      axis: { bus: 'tape', from: -36, to: 6, step: 2 },
      section: null,
    });
    let asking: Asking<SweepRow> = {};
    engine.ask = ((_: Question, given: Asking<SweepRow>) => {
      asking = given;
      return new Promise((_, reject) =>
        given.signal!.addEventListener('abort', () => reject(given.signal!.reason as Error)),
      );
    }) as FakeEngine['ask'];
    await page.getByRole('button', { name: 'Tape colour', exact: true }).click();
    await page.getByText('Blend sweep').click();
    await page.getByRole('button', { name: 'Sweep Tape colour' }).click();
    for (const row of rows.slice(0, 5)) asking.onRow!(row);
    await expect.element(page.getByText(`5 of ${rows.length} steps measured.`)).toBeVisible();
    const chart = page.getByRole('slider', { name: /^Crest along the blend/ });
    await expect.element(chart).toBeVisible();
    const curve = chart.element().querySelector<SVGPathElement>('.curve')!.getBBox();
    expect(curve.width / chart.element().getBoundingClientRect().width).toBeCloseTo(4 / (rows.length - 1), 1);
    await page.getByRole('button', { name: 'Cancel' }).click();
    await expect.element(chart).not.toBeInTheDocument();
    await expect.element(page.getByRole('button', { name: 'Sweep Tape colour' })).toBeEnabled();
  });

  test('a blend is picked on the chart', async () => {
    await sweep();
    const chart = page.getByRole('slider', { name: /^Crest along the blend/ });
    await expect.element(chart).toBeVisible();
    const { left, width } = chart.element().getBoundingClientRect();
    chart.element().dispatchEvent(new MouseEvent('click', { clientX: left + 0.75 * width, bubbles: true }));
    const blend = page.getByRole('slider', { name: 'Blend of Tape colour' }).element();
    // A pixel of so small a chart is about 0.4 dB.
    await expect.poll(() => Math.abs(Number(blend.getAttribute('aria-valuenow')) + 4.5)).toBeLessThan(0.5);
    await expect.element(page.getByText(/The mix has changed/)).not.toBeInTheDocument();
  });

  test('a blend is pointed at and taken on the chart from the keyboard', async () => {
    await sweep();
    await expect.poll(() => document.querySelector('p[aria-live="polite"]')!.textContent).toBe('The sweep is done.');
    const chart = page.getByRole('slider', { name: /^Crest along the blend/ });
    const blend = page.getByRole('slider', { name: 'Blend of Tape colour' }).element();
    const before = Number(blend.getAttribute('aria-valuenow'));
    (chart.element() as SVGElement).focus();
    await userEvent.keyboard('{ArrowRight}{ArrowRight}{Shift>}{ArrowLeft}{/Shift}');
    await expect.element(chart).toHaveAttribute('aria-valuenow', String(Math.round(10 * (before + 0.9)) / 10));
    expect(Number(blend.getAttribute('aria-valuenow'))).toBe(before);
    await userEvent.keyboard('{Enter}');
    await expect.poll(() => Number(blend.getAttribute('aria-valuenow'))).toBeCloseTo(before + 0.9, 6);
  });
});

describe('the sweep of two buses', () => {
  const cell = (name: RegExp) => page.getByRole('gridcell', { name });
  const blendsOf = (engine: FakeEngine): (number | undefined)[] => {
    const blends = new Map(lastSession(engine).buses.map(({ id, blendDb }) => [id, blendDb]));
    return [blends.get('tape'), blends.get('spread')];
  };
  const swept = async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: 'Tape colour', exact: true }).click();
    await page.getByText('Blend sweep').click();
    await page.getByRole('combobox', { name: 'Second bus' }).selectOptions('Side spread');
    await page.getByRole('combobox', { name: 'Section of the song' }).selectOptions('Chorus (0:40–1:00)');
    await page.getByRole('button', { name: 'Sweep Tape colour with Side spread' }).click();
    return engine;
  };

  test('is asked for over a section; the panel says which, and every cell tells its value and what it breaks', async () => {
    const engine = await swept();
    expect(asked(engine, 'sweep').at(-1)![1]).toMatchObject({
      axis: { bus: 'tape', from: -36, to: 6, step: 6 },
      second: { bus: 'spread', from: -36, to: 6, step: 6 },
      section: { startSeconds: 40, endSeconds: 60 },
    });
    await expect
      .element(page.getByText('Of “Chorus” (0:40–1:00), before the mix bus; guards after its trim.'))
      .toBeVisible();
    await expect.element(page.getByText(/“width change” is broken in \d+ of 64 cells/)).toBeVisible();
    await expect.element(cell(/^Tape colour 6.0 dB, Side spread 6.0 dB: .* LUFS, breaks width change$/)).toBeVisible();
    await expect.element(cell(/^Tape colour −36.0 dB, Side spread −36.0 dB: .* LUFS$/)).toBeVisible();
    await page.getByRole('combobox', { name: 'Figure of the grid' }).selectOptions('crestDb');
    await expect.element(page.getByRole('grid', { name: /^Crest over the blends of Tape colour and/ })).toBeVisible();
    expect(await accessibilityTroubles()).toEqual([]);
  });

  test('a cell is found and picked from the keyboard: both blends are set, as one step', async () => {
    const engine = await swept();
    // The blends as they are, -15 (half-way, so the lower one) and -14, lie nearest to this one: the tab key goes there.
    const start = cell(/^Tape colour −18.0 dB, Side spread −12.0 dB/);
    await expect.element(start).toHaveAttribute('tabindex', '0');
    expect(
      page
        .getByRole('gridcell')
        .elements()
        .filter((each) => each.getAttribute('tabindex') === '0'),
    ).toHaveLength(1);
    (start.element() as HTMLElement).focus();
    await userEvent.keyboard('{ArrowRight}{ArrowRight}{ArrowUp}{ArrowUp}');
    await expect.element(cell(/^Tape colour −6.0 dB, Side spread 0.0 dB/)).toHaveFocus();
    await expect.element(page.getByText(/at −6.0 and\s+0.0 dB/)).toBeVisible();
    await userEvent.keyboard('{Enter}');
    expect(blendsOf(engine)).toEqual([-6, 0]);
    await expect.element(cell(/^Tape colour −6.0 dB, Side spread 0.0 dB/)).toHaveAttribute('aria-selected', 'true');
    await expect.element(page.getByText(/The mix has changed/)).not.toBeInTheDocument();
    await page.getByRole('button', { name: /Undo.*blend Tape colour and Side spread/ }).click();
    expect(blendsOf(engine)).toEqual([-15, -14]);
  });

  test('a cell is picked by hand', async () => {
    const engine = await swept();
    await cell(/^Tape colour 0.0 dB, Side spread −18.0 dB/).click();
    expect(blendsOf(engine)).toEqual([0, -18]);
  });
});

describe('the sweep of a bus that feeds another', () => {
  test('says beforehand how much is rendered, and afterwards where the rows break a guard', async () => {
    const song = fakeSession();
    const sends = [{ to: 'air', levelDb: 0, tap: 'post-fader' as const, on: true }];
    await openSong({ ...song, buses: song.buses.map((bus) => (bus.id === 'tape' ? { ...bus, sends } : bus)) });
    await page.getByRole('button', { name: 'Tape colour', exact: true }).click();
    await page.getByText('Blend sweep').click();
    await page.getByRole('combobox', { name: 'Step' }).selectOptions('3 dB');
    await expect.element(page.getByText(/It sends post-fader to another bus: 15 renders/)).toBeVisible();
    await page.getByRole('button', { name: 'Sweep Tape colour' }).click();
    await expect.element(page.getByText('“width change” is broken from 0.0 to 6.0 dB.')).toBeVisible();
    await expect.element(page.getByText(/15 blends rendered\./)).toBeVisible();
    expect(await accessibilityTroubles()).toEqual([]);
  });
});

describe('targets', () => {
  test('found blends are heard before they are taken', async () => {
    const engine = await openSong();
    await findings().getByText('Targets').click();
    await page.getByRole('combobox', { name: 'Condition' }).selectOptions('at least');
    await page.getByRole('button', { name: 'Find blends' }).click();
    expect(asked(engine, 'solve')[0]![1]).toMatchObject({ targets: ['stereo.sideToMidDb>=-9'] });
    await expect.element(page.getByText('Not all targets can be met.')).toBeVisible();
    await page.getByRole('button', { name: 'Preview' }).click();
    await expect.element(page.getByText(/Preview:/)).toBeVisible();
    await expect.element(page.getByRole('button', { name: 'Print …' })).toBeDisabled();
    expect(await accessibilityTroubles()).toEqual([]);
    await page.getByRole('button', { name: 'Apply' }).click();
    await expect.element(page.getByText(/Preview:/)).not.toBeInTheDocument();
    await expect.element(page.getByRole('button', { name: /Undo.*found blends/ })).toBeEnabled();
    await expect.element(page.getByText('These blends are applied.')).toBeVisible();
    await expect.element(page.getByRole('button', { name: 'Preview' })).toBeDisabled();
    // The answer was found for the mix as it was.
    await page.getByRole('button', { name: /Undo.*found blends/ }).click();
    await page.getByRole('switch', { name: 'Mute Voice' }).click();
    await expect.element(page.getByText('The mix has changed since: find blends again.')).toBeVisible();
  });
});

describe('bringing up', () => {
  test('every step tells its figures and can be heard; the last word is whether it is kept', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: 'Bring up …' }).click();
    await expect.element(page.getByRole('row', { name: /all buses down/ })).toBeVisible();
    await page.getByRole('button', { name: 'Hear', exact: true }).first().click();
    const shut = engine.calls.filter(([name]) => name === 'apply').at(-1)![1] as { buses: { blendDb: number }[] };
    expect(shut.buses.filter(({ blendDb }) => blendDb <= -90).length).toBeGreaterThan(2);
    expect(await accessibilityTroubles()).toEqual([]);
    await page.getByRole('button', { name: 'Discard' }).click();
    await expect.element(page.getByRole('row', { name: /all buses down/ })).not.toBeInTheDocument();
    const last = engine.calls.filter(([name]) => name === 'apply').at(-1)![1] as { buses: { blendDb: number }[] };
    expect(last.buses.some(({ blendDb }) => blendDb <= -90)).toBe(false);
  });
});
