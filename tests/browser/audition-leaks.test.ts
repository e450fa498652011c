import { expect, it } from 'vitest';
import { cdp } from 'vitest/browser';
import { Audition } from '../../src/audition/audition.ts';
import { casesOf } from '../helpers/soak.ts';
import { sine } from '../helpers/signals.ts';
import { feedTo, soundToPlay } from './sounds-to-play.ts';
import { played } from './played.ts';

/** The part of the Chrome DevTools Protocol that is used here. */
interface Devtools {
  send(method: string): Promise<{ readonly metrics: readonly { readonly name: string; readonly value: number }[] }>;
}

/** What Chromium counts of this page once it has collected what nobody holds. */
const counted = async (): Promise<ReadonlyMap<string, number>> => {
  const devtools = cdp() as unknown as Devtools;
  await devtools.send('Performance.enable');
  for (let n = 0; n < 3; n++) {
    await devtools.send('HeapProfiler.collectGarbage');
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
  const { metrics } = await devtools.send('Performance.getMetrics');
  return new Map(metrics.map(({ name, value }) => [name, value]));
};

/**
 * What may stay of each: standardized-audio-context (25.3) holds on to the player's node and the destination, as it does for a context with
 * nothing but a worklet node; the browser's own context with our worklet leaves nothing (both counted here).
 */
const STAYS = { AudioHandlers: 2, AudioWorkletProcessors: 1, JSEventListeners: 0 } as const;

/** Collections after which nothing more is let go. */
const LOOKS = 50;

it('what is opened to listen, played and closed again, leaves nothing of its own behind', async () => {
  const tone = soundToPlay({ sampleRate: 48_000, channels: [sine({ hz: 440, seconds: 1, db: -30 })] });
  const round = async (): Promise<void> => {
    const audition = await Audition.open(48_000, () => {});
    feedTo(audition);
    audition.load({
      ...{ sampleRate: 48_000, seconds: 1, rough: tone, received: null, passes: new Map() },
      ...{ paths: new Map([['dry', tone]]), mixBus: { trimGain: 1, steps: [] } },
    });
    await audition.play();
    await played(audition, 0.05);
    await audition.dispose();
  };
  // What is loaded once stays.
  await round();
  const before = await counted();
  const rounds = casesOf(3, 200);
  for (let n = 0; n < rounds; n++) await round();
  const grown = async (): Promise<string[]> => {
    const after = await counted();
    return Object.entries(STAYS).flatMap(([kind, stays]) => {
      const [there, now] = [before.get(kind)!, after.get(kind)!];
      expect(there, kind).toBeDefined();
      return now - there > stays * rounds ? [`${kind}: ${now - there} of ${stays * rounds}`] : [];
    });
  };
  // The last contexts are let go in the browser's own time; what leaks never is.
  let found = await grown();
  for (let n = 0; n < LOOKS && found.length > 0; n++) found = await grown();
  expect(found).toEqual([]);
});
