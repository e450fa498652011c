import { afterEach, describe, expect, it, vi } from 'vitest';
import { page } from 'vitest/browser';
import { render } from 'vitest-browser-svelte';
import App from '../../../src/ui/app.svelte';
import type { AnswerTo, Asking, Question } from '../../../src/engine/questions.ts';
import { sessionText } from '../../../src/session/read/serialize.ts';
import type { AudioFileFacts, AudioFiles } from '../../../src/engine/engine.ts';
import { FakeEngine } from './fake-engine.ts';
import { fakeSession } from './fake-session.ts';
import { accessibilityTroubles, audioFile, drop, openEmpty } from './open-screen.ts';

afterEach(() => vi.unstubAllGlobals());

const own = { ...fakeSession(), title: 'Own song', tracks: [], receivedBalance: [], rough: null };
const demo = { ...fakeSession(), title: 'The demo', tracks: [], receivedBalance: [], rough: null };

/** The screen while the demo is being fetched; `come` lets it come, whether it is still wanted or not. */
const whileFetching = async (): Promise<{ engine: FakeEngine; come: () => Promise<void> }> => {
  let answer: (response: Response) => void = () => {};
  vi.stubGlobal('fetch', () => new Promise<Response>((resolve) => (answer = resolve)));
  const engine = new FakeEngine();
  await page.viewport(1440, 900);
  await render(App, { engine, opens: 'demo-audio/session.json' });
  await expect.element(page.getByText('Fetching the song …').first()).toBeVisible();
  const come = async (): Promise<void> => {
    answer(new Response(sessionText(demo)));
    await new Promise((resolve) => setTimeout(resolve, 50));
  };
  return { engine, come };
};

describe('the demo song, while it is being fetched', () => {
  it('comes when nothing else is opened', async () => {
    const { come } = await whileFetching();
    await come();
    await expect.element(page.getByLabelText('Title of the song')).toHaveValue('The demo');
  });

  it('gives way to a session that is opened meanwhile', async () => {
    const { come } = await whileFetching();
    drop(new File([sessionText(own)], 'session.json'));
    await expect.element(page.getByLabelText('Title of the song')).toHaveValue('Own song');
    await come();
    await expect.element(page.getByLabelText('Title of the song')).toHaveValue('Own song');
  });

  it('gives way to audio that is dropped meanwhile', async () => {
    const { come } = await whileFetching();
    drop(new File(['RIFF'], 'bass.wav'));
    await expect.element(page.getByRole('dialog')).toBeVisible();
    await come();
    await expect.element(page.getByRole('dialog')).toBeVisible();
    await expect.element(page.getByLabelText('Title of the song')).not.toBeInTheDocument();
  });

  it('is not opened once that is cancelled', async () => {
    const { come } = await whileFetching();
    await page.getByRole('button', { name: 'Cancel' }).click();
    await expect.element(page.getByRole('button', { name: 'Open the demo song' })).toBeVisible();
    await come();
    await expect.element(page.getByLabelText('Title of the song')).not.toBeInTheDocument();
  });
});

describe('the start', () => {
  it('says what this is, and offers an own song or the demo', async () => {
    await openEmpty();
    await expect.element(page.getByText('A bench for parallel mixing')).toBeVisible();
    for (const name of ['Your own song', 'The demo song'])
      await expect.element(page.getByRole('heading', { name })).toBeVisible();
    expect(await accessibilityTroubles()).toEqual([]);
  });
});

/** An engine that reads a file only when it is told to, and stops reading as the real one does. */
class ReadingEngine extends FakeEngine {
  readonly asked: string[] = [];
  #end: (reason: DOMException) => void = () => {};
  override addFiles(files: AudioFiles): Promise<readonly AudioFileFacts[]> {
    this.asked.push(...files.keys());
    return new Promise((_, reject) => (this.#end = reject));
  }
  override cancel(): void {
    super.cancel();
    this.#end(new DOMException('replaced by newer work', 'AbortError'));
  }
}

it('files that are being read are left alone once that is cancelled, the later ones too', async () => {
  const engine = new ReadingEngine();
  await openEmpty(engine);
  drop(audioFile('kick.wav'), audioFile('snare.wav'));
  await page.getByRole('main').getByRole('button', { name: 'Cancel' }).click();
  await expect.element(page.getByRole('button', { name: 'Open the demo song' })).toBeVisible();
  expect(engine.asked).toEqual(['kick.wav']);
  await expect.element(page.getByRole('alert')).not.toBeInTheDocument();
});

/** An engine that looks for blends until it is told to stop. */
class LookingEngine extends FakeEngine {
  stopped = false;
  override ask<Q extends Question>(question: Q, asking?: Asking): Promise<AnswerTo<Q>> {
    if (question.kind !== 'solve') return super.ask(question);
    asking?.onProgress?.(0.4);
    return new Promise((_, reject) => {
      asking?.signal?.addEventListener('abort', () => {
        this.stopped = true;
        reject(asking.signal!.reason as Error);
      });
    });
  }
}

it('looking for blends shows how far it is, and can be cancelled', async () => {
  const engine = await openEmpty(new LookingEngine());
  drop(new File([sessionText(own)], 'session.json'));
  await page.getByText('Targets', { exact: true }).click();
  await page.getByRole('button', { name: 'Find blends' }).click();
  await expect.element(page.getByRole('progressbar', { name: 'Finding blends' })).toHaveValue(0.4);
  await page.getByRole('button', { name: 'Cancel' }).click();
  expect((engine as LookingEngine).stopped).toBe(true);
  await expect.element(page.getByRole('button', { name: 'Find blends' })).toBeEnabled();
  await expect.element(page.getByRole('alert')).not.toBeInTheDocument();
});
