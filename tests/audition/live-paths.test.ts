import { describe, expect, it } from 'vitest';
import { finished } from '../../src/audio/steps.ts';
import type { RigStart } from '../../src/audition/live-messages.ts';
import type { PlayedSound } from '../../src/audition/played-sound.ts';
import { livePlanOf, movesBetween } from '../../src/engine/worker/live-plan.ts';
import { WarmUp } from '../../src/engine/worker/warm-up.ts';
import type { RenderedPaths } from '../../src/render/executor.ts';
import { renderDirect } from '../../src/render/direct.ts';
import type { Plan } from '../../src/render/plan/plan.ts';
import { placed, type Sources } from '../../src/render/plan/sources.ts';
import { setSetting } from '../../src/session/chain/chain-edits.ts';
import type { Session } from '../../src/session/schema.ts';
import { planned, sessionFrom } from '../helpers/sessions.ts';
import { pinkNoise, stereo } from '../helpers/signals.ts';
import { Bench, off, program, QUANTUM, RATE, samplesOf, soundOf } from './mixer-bench.ts';

const SECONDS = 3;
const take = stereo(
  pinkNoise(SECONDS, 1, 0.2).subarray(0, SECONDS * RATE),
  pinkNoise(SECONDS, 2, 0.2).subarray(0, SECONDS * RATE),
);

/** A group, a bus of another latency, and a bus that both feed. */
const song = sessionFrom({
  groups: [{ id: 'band', name: 'Band', sends: [{ to: 'squeeze' }, { to: 'room', levelDb: -6 }] }],
  buses: [
    {
      id: 'squeeze',
      name: 'Squeeze',
      sends: [{ to: 'room', levelDb: -3 }],
      chain: [{ id: 'c', processor: 'compressor', settings: { threshold: -24, ratio: 4, lookAhead: 5 } }],
    },
    { id: 'room', name: 'Room', chain: [{ id: 'r', processor: 'reverb', settings: { decay: 1, mix: 100 } }] },
  ],
});

/** The same with lines that move about a second after the start, where paths are taken over. */
const lined = {
  ...song,
  lines: sessionFrom({
    lines: [
      [{ of: 'band', what: 'level' }, 0, -12],
      [{ of: 'squeeze', what: 'send', to: 'room' }, -3, -20],
      [{ of: 'squeeze', what: 'parameter', item: 'c', parameter: 'ratio' }, 4, 12],
      [{ of: 'room', what: 'mix', item: 'r' }, 100, 20],
    ].map(([target, from, to], n) => ({
      ...{ id: `line-${n}`, target },
      points: [
        { at: 0.4, value: from, curve: 'linear' },
        { at: 0.9, value: to },
      ],
    })),
  }).lines,
};

interface Made {
  readonly plan: Plan;
  readonly sources: Sources;
  readonly paths: RenderedPaths;
  readonly sounds: ReadonlyMap<string, PlayedSound>;
}

const made = async (session: Session): Promise<Made> => {
  const { plan, sources } = planned(session, { take });
  const paths = await renderDirect(plan, sources);
  const sounds = new Map([...paths].map(([id, { channels }]) => [id, soundOf(channels[0]!, channels[1])]));
  return { plan, sources, paths, sounds };
};

/** The rig for a path, warmed up from the song's beginning to a place. */
const rigAt = ({ plan, sources, paths, sounds }: Made, touched: string, place: number, number = 1): RigStart => {
  const live = livePlanOf(plan, touched)!;
  const source = placed(sources.get('take')!, 0, plan.frames);
  const track = soundOf(source[0]!, source[1]);
  const warm = new WarmUp(
    live.strips.map(({ spec, from }) => ({
      spec,
      from: from.map((feed) =>
        'strip' in feed
          ? feed
          : {
              latency: feed.latency,
              sound: feed.ref.kind === 'source' ? { sampleRate: RATE, channels: source } : paths.get(feed.ref.id)!,
            },
      ),
    })),
    RATE,
    0,
  );
  finished(warm.until(place + live.ahead));
  return {
    number,
    place,
    ahead: live.ahead,
    strips: live.strips.map(({ id, spec, from, latency, moving }, n) => ({
      ...{ id, spec, heldBack: live.ahead - latency, state: structuredClone(warm.states[n]!) },
      ...(moving && { moving }),
      from: from.map((feed) =>
        'strip' in feed
          ? feed
          : {
              sound: feed.ref.kind === 'source' ? track : sounds.get(feed.ref.id)!,
              ahead: live.ahead - feed.latency,
            },
      ),
    })),
  };
};

const programOf = ({ sounds }: Made) => program(Object.fromEntries(sounds));
const GAINS = { band: 1, squeeze: 0.5, room: 0.7 };

/** A bench that plays the song from a place. */
const playing = (song: Made, from: number): Bench => {
  const bench = new Bench().gains(GAINS);
  bench.mixer.load(programOf(song));
  bench.mixer.play(from, 1);
  return bench.run(4096);
};

const mixOf = ({ sounds }: Made, bench: Bench, at: number): number =>
  [...sounds].reduce((sum, [id, sound]) => sum + GAINS[id as 'band'] * samplesOf(sound)[bench.placeAt(at)]!, 0);

const soundsOf = ({ sounds }: Made) => [...sounds].map(([id, sound]) => [id, sound.id] as const);

describe('paths that run live', () => {
  it.each(['band', 'squeeze', 'room'])(
    'take over from the rendered ones, and give back to them, without a changed sample (%s)',
    async (touched) => {
      const rendered = await made(song);
      const bench = playing(rendered, 20_000);
      // No multiple of a quantum or a control block.
      const place = bench.placeAt(bench.clock) + 3001;
      bench.mixer.hearLive({ rig: rigAt(rendered, touched, place) });
      bench.run(12_800);
      expect(bench.live).toContainEqual({ rig: 1, became: 'live' });
      bench.mixer.hearLive({ leave: soundsOf(rendered), number: 1 });
      bench.run(4096);
      expect(bench.live).toContainEqual({ rig: 1, became: 'gone' });
      // A crossfade of equal samples is rounded otherwise.
      expect(off(bench, 4096, bench.clock, (at) => mixOf(rendered, bench, at))).toBeLessThan(1e-7);
      expect(bench.mixer.lateStretches).toBe(0);
    },
  );

  it('follow the lines that what is rendered follows', async () => {
    const rendered = await made(lined);
    const bench = playing(rendered, 20_000);
    bench.mixer.hearLive({ rig: rigAt(rendered, 'band', bench.placeAt(bench.clock) + 3001) });
    bench.run(12_800);
    expect(bench.live).toContainEqual({ rig: 1, became: 'live' });
    // Rendered paths are rounded to single precision once more.
    expect(off(bench, 4096, bench.clock, (at) => mixOf(rendered, bench, at))).toBeLessThan(2e-7);
    const still = await made(song);
    expect(off(bench, 4096, bench.clock, (at) => mixOf(still, bench, at))).toBeGreaterThan(0.01);
  });

  it('are what is rendered anew, once a move has settled; that is waited for before they give back', async () => {
    const [before, after] = await Promise.all([made(song), made(setSetting(song, 'squeeze', 'c', 'ratio', 8))]);
    const bench = playing(before, 4800);
    bench.mixer.hearLive({ rig: rigAt(before, 'squeeze', bench.placeAt(bench.clock) + 1000) });
    bench.run(6400);
    const moves = movesBetween(livePlanOf(before.plan, 'squeeze')!, livePlanOf(after.plan, 'squeeze')!);
    expect(moves.map(([strip]) => strip)).toEqual([0]);
    const moved = bench.clock;
    bench.mixer.hearLive({ move: moves, number: 1, edition: 1 });
    bench.mixer.hearLive({ leave: soundsOf(after), number: 1 });
    // The reverb of 1 s has fallen by 78 dB since what came before the move, and smoothing is over.
    bench.run(1.3 * RATE);
    const settled = bench.clock;
    bench.run(4096);
    expect(bench.live.some((report) => 'rig' in report && report.became === 'gone')).toBe(false);
    expect(off(bench, settled, bench.clock, (at) => mixOf(after, bench, at))).toBeLessThan(2e-4);
    // It differs from what was rendered before by far more than that.
    expect(off(bench, settled, bench.clock, (at) => mixOf(before, bench, at))).toBeGreaterThan(2e-2);
    bench.mixer.load(programOf(after));
    bench.run(8192);
    expect(bench.live).toContainEqual({ rig: 1, became: 'gone' });
    expect(off(bench, bench.clock - 2048, bench.clock, (at) => mixOf(after, bench, at))).toBe(0);
    const steps = bench.left.slice(moved).map((x, n) => Math.abs(x - bench.left[moved + n - 1]!));
    const rendered = Array.from(steps, (_, n) => mixOf(after, bench, moved + n));
    const largest = rendered.reduce((most, x, n) => Math.max(most, Math.abs(x - (rendered[n - 1] ?? x))), 0);
    // No click: no step is larger than those of the sound itself, by more than the louder settings were.
    expect(Math.max(...steps)).toBeLessThan(1.5 * largest);
  });

  it('move by what comes straight from the page, and not back by what the worker tells of before', async () => {
    const settings = (ratio: number) => setSetting(song, 'squeeze', 'c', 'ratio', ratio);
    const before = await made(song);
    const stepsOf = (session: Session) =>
      planned(session, { take }).plan.strips.find(({ id }) => id === 'squeeze')!.spec.steps;
    const heard = (tell: (bench: Bench) => void): readonly number[] => {
      const bench = playing(before, 4800);
      bench.mixer.hearLive({ rig: rigAt(before, 'squeeze', bench.placeAt(bench.clock) + 1000) });
      bench.run(6400);
      tell(bench);
      return bench.run(12_800).left;
    };
    const byWorker = (ratio: number, edition: number) => (bench: Bench) =>
      bench.mixer.hearLive({ move: [[0, stepsOf(settings(ratio))]], number: 1, edition });
    const byPage = (session: Session, edition: number) => (bench: Bench) =>
      bench.mixer.moveLive({ chains: [['squeeze', stepsOf(session)]], edition });
    const all = (...tells: readonly ((bench: Bench) => void)[]) =>
      heard((bench) => tells.forEach((tell) => tell(bench)));
    const moved = all(byWorker(8, 3));
    expect(moved).not.toEqual(all());
    expect(all(byPage(settings(8), 3))).toEqual(moved);
    expect(all(byPage(settings(8), 3), byWorker(2, 2), byWorker(8, 3))).toEqual(moved);
    expect(all(byPage(settings(8), 3), byWorker(2, 4))).not.toEqual(moved);
    // A chain that comes later than the other paths wait for is left to the render.
    expect(all(byPage(setSetting(song, 'squeeze', 'c', 'lookAhead', 8), 3))).toEqual(all());
  });

  it('that come too late for their place say so, and what is rendered plays on', async () => {
    const rendered = await made(song);
    const bench = playing(rendered, 20_000);
    bench.mixer.hearLive({ rig: rigAt(rendered, 'squeeze', bench.placeAt(bench.clock) - 100) });
    bench.run(4096);
    expect(bench.live).toContainEqual({ rig: 1, became: 'missed' });
    expect(off(bench, 4096, bench.clock, (at) => mixOf(rendered, bench, at))).toBe(0);
  });

  it('end where playing ends, and leave nothing behind however often', async () => {
    const rendered = await made(song);
    const bench = playing(rendered, 20_000);
    const bytes = bench.mixer.shelf.bytes;
    const rig = rigAt(rendered, 'room', 30_000);
    for (let round = 1; round <= 12; round++) {
      bench.mixer.play(29_900, round);
      bench.run(2560);
      bench.mixer.hearLive({ rig: { ...rig, number: round, place: bench.placeAt(bench.clock) + QUANTUM } });
      bench.run(2560);
      bench.mixer.stop();
      bench.run(1280);
      expect(bench.live.at(-1)).toEqual({ rig: round, became: 'gone' });
    }
    bench.run(1280);
    expect(bench.mixer.shelf.bytes).toBe(0);
    expect(bytes).toBeGreaterThan(0);
    expect(bench.mixer.sounds).toHaveLength(3);
  });
});
