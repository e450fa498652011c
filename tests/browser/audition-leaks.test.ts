import { expect, it } from 'vitest';
import { AudioContext } from 'standardized-audio-context';
import { Context, connect } from 'tone';
import { cdp } from 'vitest/browser';
import { Audition } from '../../src/audition/audition.ts';
import { SONG_PROCESSOR } from '../../src/audition/song-messages.ts';
import songWorkletUrl from '../../src/audition/song.worklet.ts?worker&url';
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

/** Of what nothing may stay but what the browser and its library keep of any context. */
const KINDS = ['AudioHandlers', 'AudioWorkletProcessors', 'JSEventListeners'] as const;

/** Collections after which nothing more is let go. */
const LOOKS = 12;

const soon = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 60));

/** A context with nothing but a worklet node, opened and closed through the same library: what stays of it is not ours. */
const bareRound = async (): Promise<void> => {
  const context = new Context(new AudioContext({ sampleRate: 48_000, latencyHint: 'interactive' }));
  await context.addAudioWorkletModule(songWorkletUrl);
  const node = context.createAudioWorkletNode(SONG_PROCESSOR, { numberOfInputs: 0, outputChannelCount: [2] });
  node.port.onmessage = () => {};
  connect(node, context.rawContext.destination);
  await context.resume();
  await soon();
  node.port.onmessage = null;
  node.port.postMessage({ kind: 'end' });
  await soon();
  node.port.close();
  node.disconnect();
  context.dispose();
  await (context.rawContext as unknown as { close(): Promise<void> }).close().catch(() => {});
};

/** How much more there is of each kind after so many rounds, once nothing more is let go, or no more than `most`. */
const grownBy = async (
  round: () => Promise<void>,
  rounds: number,
  most: readonly number[] = KINDS.map(() => 0),
): Promise<readonly number[]> => {
  // What is loaded once stays.
  await round();
  const before = await counted();
  for (let n = 0; n < rounds; n++) await round();
  const grown = async (): Promise<number[]> => {
    const after = await counted();
    return KINDS.map((kind) => {
      expect(before.get(kind), kind).toBeDefined();
      return after.get(kind)! - before.get(kind)!;
    });
  };
  // The last contexts are let go in the browser's own time; what leaks never is.
  let found = await grown();
  for (let n = 0; n < LOOKS && found.some((count, kind) => count > most[kind]!); n++) found = await grown();
  return found;
};

it('what is opened to listen, played and closed again, leaves nothing of its own behind', async () => {
  const tone = soundToPlay({ sampleRate: 48_000, channels: [sine({ hz: 440, seconds: 1, db: -30 })] });
  const rounds = casesOf(4, 200);
  // The browser lets go of one context sooner or later than of another: one more may be there.
  const bare = (await grownBy(bareRound, rounds)).map((count) => (rounds + 1) * Math.ceil(count / rounds));
  const ours = await grownBy(
    async () => {
      const audition = await Audition.open(48_000, () => {});
      feedTo(audition);
      audition.load({
        ...{ sampleRate: 48_000, seconds: 1, rough: tone, received: null, passes: new Map() },
        ...{ paths: new Map([['dry', tone]]), mixBus: { trimGain: 1, steps: [] } },
      });
      await audition.play();
      await played(audition, 0.05);
      await audition.dispose();
    },
    rounds,
    bare,
  );
  KINDS.forEach((kind, n) => expect(ours[n], kind).toBeLessThanOrEqual(bare[n]!));
});
