import { strFromU8, unzipSync } from 'fflate';
import { describe, expect, test } from 'vitest';
import { page, userEvent } from 'vitest/browser';
import { downloaded } from './downloaded.ts';
import { sessionText } from '../../../src/session/read/serialize.ts';
import { filesOf } from '../../../src/engine/files-of-session.ts';
import { FIRST_MONITOR_DB } from '../../../src/ui/bench/listening.svelte.ts';
import { HEARING_ADVICE } from '../../../src/ui/hearing/hearing-advice.ts';
import { fakeSession } from './fake-session.ts';
import { applied, audioFile, drop, lastSession, openEmpty, openSong } from './open-screen.ts';

const heard = (engine: { calls: readonly (readonly unknown[])[] }): unknown =>
  engine.calls.findLast(([name]) => name === 'hear')?.[1];
const dialog = () => page.getByRole('dialog', { name: 'Assign files' });

describe('hearing', () => {
  test('1, 2 and 3 change what is heard; the space bar plays and pauses', async () => {
    const engine = await openSong();
    await userEvent.keyboard('1');
    expect(heard(engine)).toBe('rough');
    await expect.element(page.getByRole('radio', { name: 'Rough' })).toBeChecked();
    await userEvent.keyboard('2');
    expect(heard(engine)).toBe('received');
    await userEvent.keyboard(' ');
    await expect.element(page.getByRole('button', { name: 'Pause' })).toBeVisible();
    await userEvent.keyboard(' ');
    await expect.element(page.getByRole('button', { name: 'Play' })).toBeVisible();
  });

  test('the space bar works the control that was reached by keyboard, and plays everywhere else', async () => {
    const engine = await openSong();
    (page.getByRole('button', { name: 'Guitars', exact: true }).element() as HTMLElement).focus();
    await userEvent.keyboard('{Shift>}{Tab}{/Shift} ');
    expect(lastSession(engine).groups[3]!.on).toBe(false);
    expect(engine.view.playing).toBe(false);
    (page.getByRole('slider', { name: 'Blend of Drum squeeze' }).element() as HTMLElement).focus();
    await userEvent.keyboard(' ');
    expect(engine.view.playing).toBe(true);
  });

  test('matching off is said plainly, and told to the engine', async () => {
    const engine = await openSong();
    (page.getByRole('switch', { name: 'match: \u221220.9 LUFS' }).element() as HTMLElement).click();
    await expect.element(page.getByText('Match off: may be louder')).toBeVisible();
    expect(engine.calls).toContainEqual(['match', false]);
  });

  test('the monitor starts low, beside the advice on hearing', async () => {
    await openSong();
    await expect.element(page.getByRole('slider', { name: 'Monitor' })).toHaveValue(String(FIRST_MONITOR_DB));
    await expect.element(page.getByText(HEARING_ADVICE)).toBeVisible();
  });

  test('typing a digit into a name does not change what is heard', async () => {
    const engine = await openSong();
    const before = heard(engine);
    await page.getByLabelText('Title of the song').fill('Low Tide 1');
    await userEvent.keyboard('2 3');
    expect(heard(engine)).toBe(before);
    expect(engine.view.playing).toBe(false);
  });
});

describe('the song strip', () => {
  test('a click on a section loops it, another ends the loop, shift stretches it', async () => {
    const engine = await openSong();
    const loop = (): unknown => engine.calls.findLast(([name]) => name === 'loop')?.[1];
    await page.getByRole('button', { name: 'Bridge' }).click();
    expect(loop()).toEqual({ startSeconds: 30, endSeconds: 40 });
    expect(engine.position()).toBe(30);
    await page.getByRole('button', { name: 'Chorus' }).click({ modifiers: ['Shift'] });
    expect(loop()).toEqual({ startSeconds: 30, endSeconds: 60 });
    await expect.element(page.getByText('Loop Bridge to Chorus')).toBeVisible();
    for (const name of ['Bridge', 'Chorus'])
      await expect.element(page.getByRole('button', { name })).toHaveAttribute('aria-pressed', 'true');
    await expect.element(page.getByRole('button', { name: 'Verse' })).toHaveAttribute('aria-pressed', 'false');
    await userEvent.keyboard('l');
    expect(loop()).toBeNull();
  });

  test('tempo, meter, rate and the longest name of a loop are not cut', async () => {
    const sections = [{ name: 'Chorus that is quite long', startSeconds: 7.5, endSeconds: 68.125 }];
    await openSong({ ...fakeSession(), tempo: 117.5, meter: [12, 8], sampleRate: 44_100, sections });
    await page.viewport(1280, 720);
    await page.getByRole('button', { name: sections[0]!.name }).click();
    await expect.element(page.getByText(/^Loop bars \d+\.\d+ to \d+\.\d+$/)).toBeVisible();
    const rate = page.getByRole('button', { name: '117.5 BPM, 12/8, 44.1 kHz' });
    const { right } = page.getByRole('slider', { name: 'Place in the song' }).element().getBoundingClientRect();
    const left = right - page.getByRole('slider', { name: 'Place in the song' }).element().clientWidth;
    for (const part of [rate, page.getByText(/^Loop bars/), page.getByRole('button', { name: 'End the loop' })]) {
      const { right: end, bottom } = part.element().getBoundingClientRect();
      expect(end).toBeLessThanOrEqual(left);
      expect(bottom).toBeLessThanOrEqual(
        page.getByRole('region', { name: 'Song' }).element().getBoundingClientRect().bottom,
      );
    }
  });

  test('the arrow keys seek by beats, with shift by bars', async () => {
    const engine = await openSong();
    (page.getByRole('slider', { name: 'Place in the song' }).element() as HTMLElement).focus();
    await userEvent.keyboard('{Shift>}{ArrowRight}{/Shift}{ArrowRight}');
    expect(engine.position()).toBeCloseTo(5 * 0.625, 9);
    await expect
      .element(page.getByRole('slider', { name: 'Place in the song' }))
      .toHaveAttribute('aria-valuetext', 'bar 2, beat 2, 0:03');
  });

  test('the brackets set the edges of the loop where playing is', async () => {
    const engine = await openSong();
    const strip = page.getByRole('slider', { name: 'Place in the song' }).element() as HTMLElement;
    strip.focus();
    await userEvent.keyboard('{Shift>}{ArrowRight}{ArrowRight}{/Shift}[[');
    await userEvent.keyboard('{Shift>}{ArrowRight}{/Shift}]');
    expect(engine.calls.findLast(([name]) => name === 'loop')?.[1]).toEqual({ startSeconds: 5, endSeconds: 7.5 });
  });
});

describe('the path table', () => {
  test('a path is switched off and on again', async () => {
    const engine = await openSong();
    await page.getByRole('switch', { name: 'Mute Guitars' }).click();
    expect(lastSession(engine).groups[3]!.on).toBe(false);
    await userEvent.keyboard('{Control>}z{/Control}');
    expect(lastSession(engine).groups[3]!.on).toBe(true);
  });

  test('F2 renames a path in its place, Escape keeps the old name', async () => {
    const engine = await openSong();
    const name = () => page.getByRole('button', { name: 'Air', exact: true });
    (name().element() as HTMLElement).focus();
    await userEvent.keyboard('{F2}Breath{Escape}');
    await expect.element(name()).toHaveFocus();
    expect(applied(engine)).toBe(0);
    await userEvent.keyboard('{F2}Breath{Enter}');
    expect(lastSession(engine).buses[5]!.name).toBe('Breath');
  });

  test('the arrow keys go from row to row in one column', async () => {
    await openSong();
    (page.getByRole('button', { name: 'EQ of Drums' }).element() as HTMLElement).focus();
    await userEvent.keyboard('{ArrowDown}');
    await expect.element(page.getByRole('button', { name: 'EQ of Bass' })).toHaveFocus();
    await userEvent.keyboard('{ArrowUp}');
    await expect.element(page.getByRole('button', { name: 'EQ of Drums' })).toHaveFocus();
  });

  test('a send is added, levelled and removed; none is offered that would run in a circle', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: 'Voice \u22129' }).click();
    const feeds = page.getByRole('dialog', { name: 'What feeds Delay into plate' });
    await feeds.getByRole('combobox', { name: 'Add a send from' }).selectOptions('Drum squeeze');
    expect(lastSession(engine).buses[0]!.sends).toMatchObject([{ to: 'echo', levelDb: 0 }]);
    (feeds.getByRole('slider', { name: 'Send from Drum squeeze' }).element() as HTMLElement).focus();
    await userEvent.keyboard('{PageDown}');
    expect(lastSession(engine).buses[0]!.sends[0]!.levelDb).toBe(-3);
    await userEvent.keyboard('{Escape}');
    await page
      .getByRole('row', { name: /Drum squeeze/ })
      .getByRole('button', { name: /Drums 0/ })
      .click();
    const offered = page.getByRole('combobox', { name: 'Add a send from' }).element() as HTMLSelectElement;
    expect([...offered.options].map(({ text }) => text)).not.toContain('Delay into plate');
  });

  test('a track is moved to another group, panned and turned over', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: '4 tracks' }).click();
    const tracks = page.getByRole('dialog', { name: 'Tracks of Drums' });
    await tracks.getByRole('textbox', { name: /^Pan of Hats/ }).fill('-30');
    await userEvent.keyboard('{Enter}');
    await tracks.getByRole('button', { name: /^More of Snare/ }).click();
    await tracks.getByRole('combobox', { name: 'Polarity of Snare' }).selectOptions('inverted');
    await tracks.getByRole('combobox', { name: 'Group of Shells' }).selectOptions('Guitars');
    const { tracks: after } = lastSession(engine);
    expect(after.find(({ id }) => id === 'hats')!.pan).toBe(-0.3);
    expect(after.find(({ id }) => id === 'snare')!.polarity).toBe('inverted');
    expect(after.find(({ id }) => id === 'shells')!.group).toBe('guitars');
  });

  test('an empty bus and a group are added, and the bus is removed from its bench', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: '+ Add a bus' }).click();
    await page.getByRole('button', { name: /an empty bus/i }).click();
    expect(lastSession(engine).buses.at(-1)).toMatchObject({ name: 'New bus', chain: [] });
    await page.getByRole('button', { name: 'Remove this bus' }).click();
    expect(lastSession(engine).buses).toHaveLength(6);
    await page.getByRole('button', { name: '+ Add a group' }).click();
    await page.getByRole('textbox', { name: 'Name of the new group' }).fill('Strings');
    await userEvent.keyboard('{Enter}');
    expect(lastSession(engine).groups.at(-1)!.name).toBe('Strings');
  });
});

describe('files', () => {
  test('dropped audio asks where it goes, and becomes a new song on an empty bench', async () => {
    await openEmpty();
    drop(audioFile('Song rough.wav'), audioFile('Kick.wav'), audioFile('Lead vox.wav'));
    await expect.element(dialog()).toBeVisible();
    await dialog().getByRole('combobox', { name: 'Where Lead vox.wav goes' }).selectOptions('new group Drums');
    await dialog().getByRole('button', { name: 'Add 3 files' }).click();
    await expect.element(page.getByRole('button', { name: '2 tracks' })).toBeVisible();
    await expect.element(page.getByText('not saved')).toBeVisible();
  });

  test('one file that cannot be read is named in one sentence, and the others still come in', async () => {
    const engine = await openSong();
    drop(audioFile('broken.wav'), audioFile('Shaker.wav'));
    await expect.element(dialog().getByRole('region', { name: 'Not used' })).toHaveTextContent(/broken\.wav/);
    await dialog().getByRole('button', { name: 'Add 1 file' }).click();
    expect(lastSession(engine).tracks.at(-1)).toMatchObject({ name: 'Shaker', group: 'drums' });
    drop(audioFile('broken.wav'));
    await expect.element(page.getByRole('alert')).toHaveTextContent(/broken\.wav/);
    await page.getByRole('button', { name: 'Close the notice' }).click();
    await expect.element(page.getByRole('alert')).not.toBeInTheDocument();
  });

  test('of a folder what is sound is taken, and what is left aside is listed with the reason', async () => {
    const engine = await openEmpty();
    drop(
      audioFile('Low Tide rough.wav'),
      audioFile('Low Tide rough 2.wav'),
      audioFile('Banjo.wav'),
      new File(['RIFF Banjo.wav'], 'Banjo copy.wav'),
      new File(['{"bpm": 96}'], 'notes.json'),
      new File([JSON.stringify({ ...fakeSession(), tempo: 'fast' })], 'old session.json'),
      new File(['?'], 'cover.jpg'),
      new File(['?'], '._Banjo.wav'),
      audioFile('broken.wav'),
    );
    const aside = dialog().getByRole('region', { name: 'Not used' });
    for (const words of [
      /notes\.json.*other JSON/,
      /old session\.json.*tempo/,
      /cover\.jpg.*another kind/,
      /Banjo copy\.wav has the same content as Banjo\.wav/,
      /broken\.wav/,
    ])
      await expect.element(aside).toHaveTextContent(words);
    expect(aside.getByRole('listitem').elements()).toHaveLength(5);
    await expect
      .element(dialog().getByRole('row', { name: /rough 2/ }))
      .toHaveTextContent(/Looks like a second rough mix/);
    await dialog().getByRole('button', { name: 'Add 2 files' }).click();
    await expect.element(page.getByRole('button', { name: '1 track' })).toBeVisible();
    expect(engine.view.missing).toEqual([]);
  });

  test('a session in a folder is opened whatever lies beside it, and that is told', async () => {
    const other = new File(
      [sessionText({ ...fakeSession(), title: 'High Tide', rough: null, tracks: [], receivedBalance: [] })],
      'a.json',
    );
    await openEmpty();
    const song = fakeSession();
    const names = filesOf(song).map((path) => path.split('/').at(-1)!);
    drop(
      other,
      new File([sessionText(song)], 'session.json'),
      new File(['{'], 'stray.json'),
      audioFile('Bounce of May.wav'),
      ...names.map(audioFile),
    );
    await expect.element(page.getByLabelText('Title of the song')).toHaveValue('Low Tide');
    const told = page.getByRole('status').filter({ hasText: 'Not used' });
    for (const words of [/stray\.json/, /a\.json is another session/, /does not name Bounce of May\.wav/])
      await expect.element(told).toHaveTextContent(words);
    await expect.element(dialog()).not.toBeInTheDocument();
  });

  test('a session that is wrong is refused in one sentence, and the one in hand stays', async () => {
    const engine = await openSong();
    await page.getByRole('switch', { name: 'Mute Guitars' }).click();
    drop(new File([JSON.stringify({ ...fakeSession(), tempo: 'fast' })], 'other.json'));
    await expect.element(page.getByRole('alert')).toHaveTextContent(/other\.json.*tempo/);
    await expect.element(page.getByLabelText('Title of the song')).toHaveValue('Low Tide');
    await expect.element(page.getByRole('button', { name: 'Undo mute Guitars' })).toBeVisible();
    expect(applied(engine)).toBe(1);
  });

  test('missing audio is listed, asked for, and found by its name when it is dropped', async () => {
    await openSong(undefined, ['tracks/kick.wav', 'tracks/pad.wav']);
    const missing = page.getByRole('region', { name: 'Missing audio' });
    await expect.element(missing).toHaveTextContent(/2 audio files.*tracks\/kick\.wav.*tracks\/pad\.wav/);
    await expect.element(page.getByRole('button', { name: 'Print …' })).toBeDisabled();
    drop(audioFile('kick.wav'), audioFile('pad.wav'));
    await expect.element(missing).not.toBeInTheDocument();
    await expect.element(dialog()).not.toBeInTheDocument();
  });

  test('a notice about files passes away with the next files that come in', async () => {
    await openSong();
    drop(audioFile('broken.wav'));
    await expect.element(page.getByRole('alert')).toHaveTextContent(/broken\.wav/);
    await page.getByRole('switch', { name: 'Mute Guitars' }).click();
    await expect.element(page.getByRole('alert')).toBeVisible();
    drop(audioFile('Shaker.wav'));
    await expect.element(dialog()).toBeVisible();
    await expect.element(page.getByRole('alert')).not.toBeInTheDocument();
  });

  test('work that is not saved is not thrown away without asking, by a session or by an empty bench', async () => {
    await openSong();
    const title = page.getByLabelText('Title of the song');
    const other = new File([sessionText({ ...fakeSession(), title: 'High Tide' })], 'high.json');
    await page.getByRole('switch', { name: 'Mute Guitars' }).click();
    const question = page.getByRole('dialog', { name: 'Low Tide is not saved' });
    drop(other);
    await question.getByRole('button', { name: 'Keep working' }).click();
    await expect.element(question).not.toBeInTheDocument();
    await expect.element(title).toHaveValue('Low Tide');
    await page.getByRole('button', { name: 'Sessions' }).click();
    drop(audioFile('Kick.wav'));
    await expect.element(question).toBeVisible();
    await userEvent.keyboard('{Escape}');
    await expect.element(question).not.toBeInTheDocument();
    await page.getByRole('button', { name: 'Back to Low Tide' }).click();
    await expect.element(title).toHaveValue('Low Tide');
    drop(other);
    await question.getByRole('button', { name: 'Open anyway' }).click();
    await expect.element(title).toHaveValue('High Tide');
    await expect.element(page.getByText('saved', { exact: true })).toBeVisible();
  });

  test('audio that is dropped on the start page is a song of its own, beside the one that is open', async () => {
    await openSong();
    await page.getByRole('button', { name: 'Sessions' }).click();
    await expect.element(page.getByRole('button', { name: 'Open the demo song' })).toBeVisible();
    await expect.element(page.getByLabelText('Title of the song')).not.toBeInTheDocument();
    drop(audioFile('Kick.wav'));
    await dialog().getByRole('button', { name: 'Add 1 file' }).click();
    await expect.element(page.getByLabelText('Title of the song')).toHaveValue('New song');
    await expect.element(page.getByRole('button', { name: '1 track' })).toBeVisible();
  });

  test('files that are none of the missing ones are called that before they are offered as tracks', async () => {
    await openSong(undefined, ['tracks/kick.wav', 'tracks/pad.wav']);
    drop(audioFile('Shaker.wav'), audioFile('Cowbell.wav'));
    await expect.element(dialog()).toHaveTextContent(/None of these is one of the 2 missing files/);
    await dialog().getByRole('button', { name: 'Cancel' }).click();
    drop(audioFile('kick.wav'), audioFile('Shaker.wav'));
    await expect.element(dialog()).toBeVisible();
    await expect.element(dialog()).not.toHaveTextContent(/missing file/);
  });

  test('a file that looks like a rough is offered in place of the one that is there', async () => {
    const engine = await openSong();
    drop(audioFile('Low Tide rough 2.wav'));
    await expect.element(dialog()).toHaveTextContent('The new rough replaces rough.wav.');
    await dialog().getByRole('button', { name: 'Add 1 file' }).click();
    expect(lastSession(engine).rough?.file).toBe('Low Tide rough 2.wav');
  });

  test('files of another rate than the session say that they are converted', async () => {
    await openEmpty();
    drop(audioFile('Kick 44k.wav'), audioFile('Snare.wav'));
    const kick = dialog().getByRole('row', { name: /Kick 44k/ });
    await expect.element(kick).toHaveTextContent(/44\.1 kHz, stereo\s*converted to 48 kHz/);
    await expect.element(dialog().getByRole('row', { name: /Snare/ })).not.toHaveTextContent(/converted/);
    await dialog().getByRole('combobox', { name: 'Where Snare.wav goes' }).selectOptions('not used');
    await expect.element(kick).not.toHaveTextContent(/converted/);
    await dialog().getByRole('button', { name: 'Add 1 file' }).click();
    await expect.element(page.getByRole('button', { name: '120 BPM, 4/4, 44.1 kHz' })).toBeVisible();
  });

  test('the rate of a song is chosen where its files are assigned, and later in its settings', async () => {
    const engine = await openEmpty();
    drop(audioFile('Kick 44k.wav'));
    const rate = () => page.getByRole('combobox', { name: 'Session rate' });
    await expect.element(rate()).toHaveDisplayValue('44.1 kHz');
    await rate().selectOptions('96 kHz');
    await expect.element(dialog().getByRole('row', { name: /Kick 44k/ })).toHaveTextContent(/converted to 96 kHz/);
    await dialog().getByRole('button', { name: 'Add 1 file' }).click();
    await page.getByRole('button', { name: '120 BPM, 4/4, 96 kHz' }).click();
    await rate().selectOptions('48 kHz');
    expect(lastSession(engine).sampleRate).toBe(48_000);
    await expect.element(page.getByRole('button', { name: /^Undo.*session rate/ })).toBeEnabled();
  });

  test('cancelling the question leaves the song as it was', async () => {
    const engine = await openSong();
    drop(audioFile('Shaker.wav'));
    await dialog().getByRole('button', { name: 'Cancel' }).click();
    await expect.element(dialog()).not.toBeInTheDocument();
    expect(applied(engine)).toBe(0);
  });
});

describe('what the engine is doing', () => {
  test('loading, rendering and a failure are shown; rendering can be cancelled, a failure tried again', async () => {
    const engine = await openEmpty();
    engine.show({ state: { phase: 'loading', progress: 0.4, message: 'Reading pad.flac' } });
    await expect.element(page.getByRole('progressbar', { name: 'Reading pad.flac' })).toBeVisible();
    engine.show({ state: { phase: 'empty', progress: 0, message: '' } });
    await expect.element(page.getByText('Drop the rough mix and its tracks here')).toBeVisible();
  });

  test('figures from before an edit are marked until they are measured anew', async () => {
    const engine = await openSong();
    const { findings } = engine.view;
    engine.apply = () => engine.show({ state: { phase: 'rendering', progress: 0.2, message: 'Rendering' } });
    await page.getByRole('switch', { name: 'Mute Guitars' }).click();
    await expect.element(page.getByText(/Measuring what changed/)).toBeVisible();
    await expect.element(page.getByText(/measuring the change each makes to the mix/)).toBeVisible();
    engine.show({ findings: { ...findings, mix: { ...findings.mix! } } });
    await expect.element(page.getByText('Change: mix minus rough.')).toBeVisible();
    await expect.element(page.getByText(/measuring the change each makes to the mix/)).toBeVisible();
  });

  test('after a stop it is said that what is heard is old, until it is rendered', async () => {
    const engine = await openSong();
    const rendering = { phase: 'rendering', progress: 0.2, message: 'Rendering' } as const;
    const { apply } = engine;
    engine.apply = () => engine.show({ state: rendering });
    engine.cancel = () => engine.show({ state: { phase: 'ready', progress: 1, message: '' } });
    await page.getByRole('switch', { name: 'Mute Guitars' }).click();
    const stopped = page.getByText('Rendering stopped: playback and figures are from before the last change.');
    await expect.element(stopped).not.toBeInTheDocument();
    await page.getByRole('button', { name: 'Cancel' }).click();
    await expect.element(stopped).toBeVisible();
    await expect.element(page.getByText(/Measuring what changed/)).not.toBeInTheDocument();
    await expect.element(page.getByRole('button', { name: 'Print …' })).toBeDisabled();
    engine.apply = apply;
    await page.getByRole('button', { name: 'Render now' }).click();
    expect(lastSession(engine).groups[3]!.on).toBe(false);
    await expect.element(stopped).not.toBeInTheDocument();
    await expect.element(page.getByRole('button', { name: 'Print …' })).toBeEnabled();
  });

  test('a render under way is said beside the title', async () => {
    const engine = await openSong();
    engine.show({ state: { phase: 'rendering', progress: 0.5, message: 'Rendering Drum squeeze' } });
    await expect.element(page.getByRole('status')).toHaveTextContent('Rendering Drum squeeze');
    await page.getByRole('button', { name: 'Cancel' }).click();
    expect(engine.calls).toContainEqual(['cancel']);
    engine.show({ state: { phase: 'failed', progress: 0, message: 'Out of memory.' } });
    await expect.element(page.getByRole('alert')).toHaveTextContent('Out of memory.');
    await page.getByRole('button', { name: 'Try again' }).click();
    await expect.element(page.getByRole('alert')).not.toBeInTheDocument();
  });
});

test('before the mix is rendered, play plays the rough', async () => {
  const engine = await openSong();
  engine.show({ audible: ['rough'] });
  await page.getByRole('button', { name: 'Play' }).click();
  expect(engine.calls).toContainEqual(['hear', 'rough']);
  await expect.element(page.getByRole('radio', { name: /Rough/ })).toBeChecked();
});

/** Its paths but for the bus that is off. */
const STEMS = [
  ...['Drums', 'Bass', 'Keys and pad', 'Guitars', 'Voice'],
  ...['Drum squeeze', 'Side spread', 'Midrange grit', 'Tape colour', 'Delay into plate'],
].map((path) => `Low Tide - ${path}.wav`);

describe('printing', () => {
  test('main mix and stems are printed in the chosen form, with figures and a download each', async () => {
    const engine = await openSong();
    await page.getByRole('button', { name: 'Print …' }).click();
    const box = page.getByRole('dialog', { name: 'Print' });
    await box.getByRole('checkbox', { name: /^Stems:/ }).click();
    await box.getByRole('button', { name: 'Print', exact: true }).click();
    await expect.element(box.getByRole('row', { name: /Low Tide\.wav 24 bit \u221217\.9/ })).toBeVisible();
    const order = {
      bits: '24',
      rate: null,
      kinds: ['main', 'stems'],
      stemsTakeGain: false,
      targetLufs: null,
      ceilingDbtp: null,
    };
    expect(engine.calls).toContainEqual(['print', order]);
    expect(box.getByRole('button', { name: /^Download .*wav/ }).elements()).toHaveLength(1 + STEMS.length);
    await userEvent.keyboard('{Escape}');
    await expect.element(box).not.toBeInTheDocument();
  });

  test('all printed files, the report and the recall sheet come in one zip', async () => {
    await openSong();
    await page.getByRole('button', { name: 'Print …' }).click();
    const box = page.getByRole('dialog', { name: 'Print' });
    await box.getByRole('checkbox', { name: /^Stems:/ }).click();
    await box.getByRole('checkbox', { name: /^Main mix/ }).click();
    await box.getByRole('button', { name: 'Print', exact: true }).click();
    const [name, content] = await downloaded(() => box.getByRole('button', { name: 'Download all' }).click());
    expect(name).toBe('Low Tide.zip');
    const files = unzipSync(content);
    const texts = ['report.md', 'recall sheet.md', 'manifest.json'].map((name) => `Low Tide - ${name}`);
    expect(Object.keys(files)).toEqual([...STEMS, ...texts]);
    expect(strFromU8(files['Low Tide - Voice.wav']!)).toBe('RIFF');
    const report = strFromU8(files['Low Tide - report.md']!);
    expect(report).toMatch(/Voice\.wav \| stems \| 24 \| 48000/);
    expect(report).toContain('The mix against the rough as received');
    expect(strFromU8(files['Low Tide - recall sheet.md']!)).toMatch(/### Drum squeeze[^#]*Blend -11\.5 dB/);
  });

  test('files of another form than the chosen one are marked as that', async () => {
    await openSong();
    await page.getByRole('button', { name: 'Print …' }).click();
    const box = page.getByRole('dialog', { name: 'Print' });
    await box.getByText('16 bit', { exact: true }).click();
    await box.getByRole('button', { name: 'Print', exact: true }).click();
    await expect.element(box.getByRole('row', { name: /Low Tide\.wav 16 bit/ })).toBeVisible();
    await expect.element(box.getByText(/Below is the last print/)).not.toBeInTheDocument();
    await box.getByText('24 bit', { exact: true }).click();
    await expect.element(box.getByText('Below is the last print, in 16 bit. Print again for 24 bit.')).toBeVisible();
    await box.getByRole('button', { name: 'Print again' }).click();
    await expect.element(box.getByRole('row', { name: /Low Tide\.wav 24 bit/ })).toBeVisible();
    await expect.element(box.getByText(/Below is the last print/)).not.toBeInTheDocument();
  });

  test('variants, a rate and a level are asked for as on the command line', async () => {
    const session = fakeSession();
    const groups = session.groups.map((group, n) => ({ ...group, vocal: n === 0 }));
    const engine = await openSong({ ...session, groups });
    await page.getByRole('button', { name: 'Print …' }).click();
    const box = page.getByRole('dialog', { name: 'Print' });
    await box.getByLabelText('Sample rate').selectOptions('44.1 kHz');
    await box.getByRole('checkbox', { name: /Instrumental/ }).click();
    await box.getByRole('checkbox', { name: /A cappella/ }).click();
    await expect.element(box.getByRole('textbox', { name: 'Loudness target' })).toBeDisabled();
    await box.getByRole('checkbox', { name: 'Loudness target' }).click();
    await box.getByRole('textbox', { name: 'Loudness target' }).fill('-14');
    await box.getByRole('checkbox', { name: 'True-peak ceiling' }).click();
    await box.getByRole('textbox', { name: 'True-peak ceiling' }).fill('-1.5');
    await userEvent.keyboard('{Enter}');
    await box.getByRole('button', { name: 'Print', exact: true }).click();
    await expect.element(box.getByRole('row', { name: /Low Tide - a cappella\.wav/ })).toBeVisible();
    const kinds = ['main', 'instrumental', 'a-cappella'];
    const order = { bits: '24', rate: 44_100, kinds, stemsTakeGain: false, targetLufs: -14, ceilingDbtp: -1.5 };
    expect(engine.calls).toContainEqual(['print', order]);
    await box.getByRole('checkbox', { name: 'Loudness target' }).click();
    await expect.element(box.getByText(/Below is the last print, of other choices/)).toBeVisible();
  });

  test('without a vocal group there is no print of vocals alone or without them, and it says why', async () => {
    await openSong();
    await page.getByRole('button', { name: 'Print …' }).click();
    const box = page.getByRole('dialog', { name: 'Print' });
    await expect.element(box.getByRole('checkbox', { name: /Instrumental/ })).toBeDisabled();
    await expect.element(box.getByText(/No group is marked as vocal/)).toBeVisible();
  });

  test('nothing chosen cannot be printed', async () => {
    await openSong();
    await page.getByRole('button', { name: 'Print …' }).click();
    await page.getByRole('checkbox', { name: /^Main mix/ }).click();
    await expect.element(page.getByRole('button', { name: 'Print', exact: true })).toBeDisabled();
  });
});

test('light and dark are changed by hand, and the choice is kept', async () => {
  await openSong();
  const first = matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light';
  const other = first === 'dark' ? 'light' : 'dark';
  await page.getByRole('button', { name: `Change to ${other}` }).click();
  expect(document.documentElement.dataset['theme']).toBe(other);
  expect(localStorage.getItem('tributary-theme')).toBe(other);
  await page.getByRole('button', { name: `Change to ${first}` }).click();
  expect(document.documentElement.dataset['theme']).toBeUndefined();
});

test('closing the screen lets the engine go', async () => {
  const { cleanup } = await import('vitest-browser-svelte');
  const engine = await openSong();
  cleanup();
  expect(engine.calls.at(-1)).toEqual(['dispose']);
});

test('nothing on a whole song is cut off at the sides of a laptop screen', async () => {
  await openSong();
  await page.viewport(1280, 720);
  await page.getByRole('button', { name: 'Compressor of Drum squeeze' }).click();
  expect(document.documentElement.scrollWidth).toBeLessThanOrEqual(1280);
  for (const scrolled of document.querySelectorAll('.paths, aside, .bench, .parameters')) {
    expect(scrolled.scrollWidth, scrolled.className).toBeLessThanOrEqual(scrolled.clientWidth + 1);
  }
});

test.each([1280, 1440])('the header stays within a window of %i pixels, whatever it has to say', async (width) => {
  const engine = await openSong();
  const name = 'The long chorus of many voices, doubled and doubled again, far behind the lead voice';
  await page.getByLabelText('Title of the song').fill(name.slice(0, 80));
  (page.getByRole('button', { name: 'Air', exact: true }).element() as HTMLElement).focus();
  await userEvent.keyboard(`{F2}${name.slice(0, 79)}{Enter}`);
  await page.getByRole('switch', { name: 'Mute Guitars' }).click();
  await page.getByRole('button', { name: /^Undo/ }).click();
  engine.show({ state: { phase: 'rendering', progress: 0.5, message: `Rendering ${name} ${name}` } });
  await page.viewport(width, 720);
  await expect.element(page.getByRole('button', { name: 'Undo rename' })).toBeEnabled();
  await expect.element(page.getByRole('button', { name: 'Redo mute Guitars' })).toBeEnabled();
  expect(document.documentElement.scrollWidth).toBeLessThanOrEqual(width);
  const header = page.getByRole('banner').element();
  expect(header.scrollWidth).toBeLessThanOrEqual(width);
  for (const part of header.querySelectorAll('button, input')) {
    expect(part.getBoundingClientRect().right, part.textContent).toBeLessThanOrEqual(width);
  }
});
