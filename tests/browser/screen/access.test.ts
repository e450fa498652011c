import { NOTHING_FOUND } from '../../../src/engine/empty-view.ts';
import { describe, expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { addGroup } from '../../../src/session/edits/edits.ts';
import { savePass } from '../../../src/session/passes/passes.ts';
import { ProblemError } from '../../../src/session/problem.ts';
import type { ChainItem, Session } from '../../../src/session/schema.ts';
import { processorItem, splitItem } from '../../helpers/chain-items.ts';
import { isSoaking } from '../../helpers/soak.ts';
import type { FakeEngine } from './fake-engine.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, audioFile, drawn, drop, openEmpty, openSong, settled } from './open-screen.ts';

/** Each theme and each size once; all four together when soaking. The rules are tried in one of them, by turns, or in all. */
const LOOKS = [
  { theme: 'light', width: 1440, height: 900 },
  { theme: 'dark', width: 1280, height: 720 },
  ...(isSoaking
    ? [
        { theme: 'dark', width: 1440, height: 900 },
        { theme: 'light', width: 1280, height: 720 },
      ]
    : []),
];

const press = (name: string | RegExp): Promise<void> =>
  page
    .getByRole('button', { name, exact: typeof name === 'string' })
    .first()
    .click();
const tab = (name: string | RegExp): Promise<void> => page.getByText(name, { exact: true }).first().click();
const seen = (what: string | RegExp): Promise<unknown> => expect.element(page.getByText(what).first()).toBeVisible();

/** Whatever is asked or printed from now on is under way and does not end. */
const slow = (engine: FakeEngine): void => {
  engine.ask = (_: unknown, { onProgress }: { onProgress?: (part: number) => void } = {}) => {
    onProgress?.(0.4);
    return new Promise(() => {});
  };
  engine.print = ({ onProgress }) => {
    onProgress?.(0.4);
    return new Promise(() => {});
  };
};

const withChain = (...chain: ChainItem[]): Session => {
  const session = fakeSession();
  return { ...session, buses: [{ ...session.buses[0]!, chain }, ...session.buses.slice(1)] };
};

const openTrial = async (): Promise<FakeEngine> => {
  const engine = await openSong();
  await press('Compare …');
  await press('Blind trial …');
  return engine;
};

const found = async (): Promise<void> => {
  await openSong();
  await tab('Targets');
  await press('Find blends');
  await seen('Not all targets can be met.');
};

/** Each state of the screen: its panels, dialogs, menus and what stands there while something is under way or went wrong. */
const STATES: Readonly<Record<string, () => Promise<unknown>>> = {
  'nothing open': openEmpty,
  loading: async () => {
    const engine = await openEmpty();
    engine.show({ state: { phase: 'loading', progress: 0.3, message: 'Decoding kick.wav' } });
    await seen(/Decoding kick.wav/);
  },
  'files over the window': async () => {
    await openSong();
    const dataTransfer = new DataTransfer();
    dataTransfer.items.add(audioFile('kick.wav'));
    window.dispatchEvent(new DragEvent('dragenter', { dataTransfer, bubbles: true, cancelable: true }));
    await seen(/^Drop tracks/);
  },
  'a song': () => openSong(),
  'an empty group and a muted bus': () => openSong(addGroup(fakeSession(), 'New')),
  rendering: async () => {
    const engine = await openSong();
    engine.show({ state: { phase: 'rendering', progress: 0.3, message: 'Rendering what changed' } });
    await seen('Rendering what changed');
  },
  measuring: async () => {
    const engine = await openSong();
    engine.show({
      isMeasured: false,
      measuredPart: 0.4,
      findings: NOTHING_FOUND,
    });
    await seen(/Measuring the mix/);
  },
  'rendering stopped': async () => {
    const engine = await openSong();
    engine.show({ state: { phase: 'rendering', progress: 0.3, message: 'Rendering what changed' } });
    await press('Cancel');
    await seen(/^Rendering stopped/);
  },
  'rendering failed': async () => {
    const engine = await openSong();
    engine.show({ state: { phase: 'failed', progress: 0, message: 'The mix cannot be rendered: memory is used up.' } });
    await seen(/memory is used up/);
  },
  'missing files and an alert': async () => {
    await openSong(undefined, ['rough.wav', 'tracks/kick.wav']);
    drop(new File(['?'], 'notes.txt'));
    await expect.element(page.getByRole('alert')).toBeVisible();
  },
  'a notice with Undo': async () => {
    await openSong(addGroup(fakeSession(), 'New'));
    await press('4 tracks');
    await page.getByLabelText('Group of Kick').selectOptions('New');
    await expect.element(page.getByText(/^Kick was moved to New/)).toBeVisible();
    await userEvent.keyboard('{Escape}');
  },
  shortcuts: async () => {
    await openSong();
    await press('Shortcuts');
  },
  'tempo and meter': async () => {
    await openSong();
    await press(/BPM/);
  },
  sections: async () => {
    await openSong();
    await press('Verse');
    await page.getByRole('button', { name: 'Bridge', exact: true }).click({ modifiers: ['Shift'] });
    await press('Sections …');
    await seen(/^Keep the loop/);
  },
  'the meaning of a column': async () => {
    await openSong();
    await press('Alignment');
  },
  'the files as received': async () => {
    await openSong();
    await press('Check files …');
    await seen(/^The rough is 480 samples late/);
  },
  'a path being renamed': async () => {
    await openSong();
    (page.getByRole('button', { name: 'Tape colour', exact: true }).element() as HTMLElement).focus();
    await userEvent.keyboard('{F2}');
    await expect.element(page.getByRole('textbox', { name: 'Name', exact: true })).toBeVisible();
  },
  'the tracks of a group': async () => {
    await openSong();
    await press('4 tracks');
  },
  'the sends to a bus': async () => {
    await openSong();
    await press(/^Drums 0/);
  },
  'a new group': async () => {
    await openSong();
    await press('+ Add a group');
  },
  'a new bus': async () => {
    await openSong();
    await press('+ Add a bus');
  },
  'a new bus set': async () => {
    await openSong();
    await press('+ Add bus set');
  },
  'a group, with presets to load': async () => {
    await openSong();
    await press('Drums');
    await press('Load preset');
  },
  'several paths at once': async () => {
    await openSong();
    await press('Drums');
    await page.getByRole('button', { name: 'Guitars', exact: true }).click({ modifiers: ['Shift'] });
  },
  'the view of a song strip with a marker': async () => {
    await openSong();
    await userEvent.keyboard('k');
    await press('View …');
  },
  'two settings of a processor': async () => {
    await openSong();
    await press('Compressor of Drum squeeze');
    await userEvent.keyboard('x');
  },
  'a bus, with processors to add': async () => {
    await openSong();
    await press('Tape colour');
    await press('Add processor');
  },
  'the mix bus': async () => {
    await openSong();
    await press('Mix bus');
  },
  'a compressor': async () => {
    await openSong();
    await press('Compressor of Drum squeeze');
  },
  'an EQ with its bands': async () => {
    await openSong();
    await press('EQ of Drum squeeze');
    await expect.element(page.getByRole('tab').first()).toBeVisible();
  },
  'a processor without its file': async () => {
    await openSong(withChain(processorItem('convolution', { mix: 40 })));
    await press('Convolution of Drum squeeze');
  },
  'a make-up being matched': async () => {
    const engine = await openSong(withChain(processorItem('compressor', { settings: { threshold: -30 } })));
    await press('Compressor of Drum squeeze');
    slow(engine);
    await press(/^Match loudness/);
  },
  'a split': async () => {
    await openSong(withChain(splitItem([processorItem('gain')], { mix: 50 })));
    await press('Drum squeeze');
    await page.getByRole('listitem').getByRole('button', { name: 'Split', exact: true }).click();
  },
  'a sweep to ask for': async () => {
    await openSong();
    await press('Tape colour');
    await tab('Blend sweep');
  },
  'a sweep under way': async () => {
    const engine = await openSong();
    await press('Tape colour');
    await tab('Blend sweep');
    slow(engine);
    await press('Sweep Tape colour');
  },
  'a sweep': async () => {
    await openSong();
    await press('Tape colour');
    await tab('Blend sweep');
    await press('Sweep Tape colour');
    await seen('Sweep again');
  },
  'a sweep of two buses': async () => {
    await openSong();
    await press('Tape colour');
    await tab('Blend sweep');
    await page.getByLabelText('Second bus').selectOptions('Side spread');
    await press(/^Sweep Tape colour/);
    await expect.element(page.getByRole('grid')).toBeVisible();
  },
  'bringing up': async () => {
    await openSong();
    await press('Bring up …');
    await page.getByRole('button', { name: 'Hear', exact: true }).nth(1).click();
    await seen('Discard');
  },
  'the ledger': async () => {
    await openSong();
    await press('Ledger …');
    await press('Measure each processor');
    await seen(/The mix with each minus/);
  },
  'the ledger under way': async () => {
    slow(await openSong());
    await press('Ledger …');
    await seen('Measuring …');
  },
  'the ledger that failed': async () => {
    const engine = await openSong();
    engine.ask = () =>
      Promise.reject(new ProblemError({ code: 'mismatch', path: 'ledger', expected: 'a song', found: 'nothing' }));
    await press('Ledger …');
    await expect.element(page.getByRole('button', { name: 'Measure', exact: true })).toBeVisible();
  },
  'the flow': async () => {
    await openSong();
    await press('Ledger …');
    await tab('Flow');
    await expect.element(page.getByRole('img', { name: /^Where the loudness/ })).toBeVisible();
  },
  'more figures and the meaning of one': async () => {
    await openSong();
    await press('More figures');
    await press('Onset dB');
    await seen(/Rise of the power of third octaves/);
  },
  'figures over time': async () => {
    await openSong();
    await tab('Over time');
  },
  'guards and the meaning of a broken one': async () => {
    await openSong();
    await tab(/^Guards/);
    await press('Width change');
  },
  'targets under way': async () => {
    const engine = await openSong();
    await tab('Targets');
    engine.ask = (_: unknown, { onRow }: { onRow?: (row: never) => void } = {}) => {
      for (const values of [[-9.9], [-8.21]]) onRow?.({ values, met: [true], broken: ['width change'] } as never);
      return new Promise(() => {});
    };
    await press('Find blends');
    await seen('Finding blends …');
    await expect.element(page.getByRole('row', { name: /^1 −8.21 width change/ })).toBeVisible();
  },
  'blends that were found': found,
  'a preview': async () => {
    await found();
    await press('Preview');
    await seen(/Not applied yet/);
  },
  'what can be compared, and a pass': async () => {
    await openSong(savePass(fakeSession(), 'First pass'));
    await press('Hear the mix without Tape colour');
    await press('Compare …');
    document.querySelector<HTMLElement>('[popover] summary')!.click();
  },
  'a pass that is rendered, and one that cannot be': async () => {
    const engine = await openSong(savePass(savePass(fakeSession(), 'First pass'), 'Second pass'));
    const { comparison } = engine.view;
    engine.show({
      comparison: {
        ...comparison,
        preparing: new Map([['first-pass', 0.4]]),
        faults: new Map([['second-pass', 'Second pass: kick.wav is missing.']]),
      },
    });
    await press('Compare …');
    await seen(/kick.wav is missing/);
  },
  'unmatched listening': async () => {
    await openSong();
    (page.getByRole('switch', { name: /^Loudness match/ }).element() as HTMLElement).click();
    await seen(/may be louder/);
  },
  'a blind trial to plan': openTrial,
  'a blind trial under way': async () => {
    await openTrial();
    await press('Start');
    await seen(/^Trial 1 of/);
    await userEvent.keyboard('1');
    await seen(/not been heard yet/);
  },
  'a blind trial stopped': async () => {
    await openTrial();
    await press('Start');
    await press('Stop trial');
    await seen(/^Stopped after/);
  },
  'a blind trial at its end': async () => {
    await openTrial();
    await page.getByLabelText('Number of trials').fill('2');
    await userEvent.keyboard('{Enter}');
    await press('Start');
    await seen(/^Trial 1 of/);
    await userEvent.keyboard('abx1abx1');
    await seen(/^Probability by guessing/);
  },
  'print to order': async () => {
    await openSong();
    await press('Print …');
    await page.getByRole('checkbox', { name: 'Loudness target' }).click();
  },
  'print under way': async () => {
    slow(await openSong());
    await press('Print …');
    await press('Print');
    await seen('Printing …');
  },
  'print done': async () => {
    await openSong();
    await press('Print …');
    await press('Print');
    await seen('Print again');
  },
  'print that failed': async () => {
    const engine = await openSong();
    engine.print = () =>
      Promise.reject(new ProblemError({ code: 'mismatch', path: 'kick.wav', expected: 'sound', found: 'nothing' }));
    await press('Print …');
    await press('Print');
    await expect.element(page.getByRole('alert')).toBeVisible();
  },
  'files to assign': async () => {
    await openSong(undefined, ['tracks/kick.wav']);
    drop(audioFile('Shaker.wav'), audioFile('broken.wav'));
    await expect.element(page.getByRole('dialog', { name: 'Assign files' })).toBeVisible();
  },
  'work that would be lost': async () => {
    await openSong();
    (page.getByRole('switch', { name: 'Mute Bass' }).element() as HTMLElement).click();
    await press('Sessions');
    await press('Open the demo song');
    await seen(/is not saved/);
  },
};

/** What sticks out of the window to the right: there is no way to scroll the whole screen. */
const overflow = (): string[] => {
  const { scrollWidth } = document.documentElement;
  return scrollWidth > window.innerWidth ? [`${scrollWidth} px wide in ${window.innerWidth}`] : [];
};

describe('the accessibility rules object to nothing, and nothing is cut off, in light and dark, large and small', () => {
  test.each(Object.keys(STATES).map((state, n) => [state, n] as const))('%s', async (state, n) => {
    await STATES[state]!();
    const troubles: string[] = [];
    for (const [look, { theme, width, height }] of LOOKS.entries()) {
      await page.viewport(width, height);
      const isTried = isSoaking || look === n % LOOKS.length;
      if (isTried) document.documentElement.dataset['theme'] = theme;
      await (isTried ? settled() : drawn());
      const found = [...(isTried ? await accessibilityTroubles() : []), ...overflow()];
      troubles.push(...found.map((trouble) => `${theme}, ${width} x ${height}: ${trouble}`));
    }
    expect(troubles).toEqual([]);
  });
});
