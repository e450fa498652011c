import { describe, expect, test } from 'vitest';
import { ALONE, ledgerBasisOf } from '../helpers/ledger-bases.ts';
import type { Sweep } from '../../src/blend/sweep/sweep.ts';
import type { Audio } from '../../src/audio/audio.ts';
import { finished } from '../../src/audio/steps.ts';
import { renderDirect } from '../../src/render/direct.ts';
import type { RenderedPaths } from '../../src/render/executor.ts';
import { asReceived } from '../../src/render/make-plan.ts';
import { gainsOf, sumPaths } from '../../src/render/mix.ts';
import type { Plan } from '../../src/render/plan.ts';
import { StripCache } from '../../src/render/strip-cache.ts';
import type { Session } from '../../src/session/schema.ts';
import { receivedGroupsSteps, type Desk } from '../../src/engine/jobs/blend-desk.ts';
import type { SweepQuestion } from '../../src/engine/questions.ts';
import { sideFindingsSteps } from '../../src/engine/measuring/side-findings.ts';
import { SweepDesk } from '../../src/engine/jobs/sweep-desk.ts';
import { sweepBy, type SweepStudio } from '../../src/engine/jobs/sweep-rounds.ts';
import { runJson, Workplace } from '../cli/command.ts';
import { writeSession, writeSounds } from '../cli/song.ts';
import { pinkNoise, stereo } from '../helpers/signals.ts';
import { expectAlike } from '../ui/expect-alike.ts';
import { cut, songFromDisk } from '../ui/song-from-disk.ts';

const place = new Workplace();
writeSounds(place);
// A rough whose every figure is its own, so that no guard finds two sides alike.
const swell = pinkNoise(4, 9, 0.1).map((x, n) => x * (0.2 + n / 192_000));
place.writeAudio('swelling.wav', stereo(swell, pinkNoise(4, 10, 0.1)));
const rough = { file: 'swelling.wav' };

const sections = [{ name: 'Late', startSeconds: 1, endSeconds: 3.5 }];
const groups = [
  { id: 'bass', name: 'Bass', sends: [{ to: 'double' }] },
  { id: 'keys', name: 'Keys', sends: [{ to: 'air' }] },
];
const drive = { id: 'd', processor: 'saturator', settings: { drive: 12 } };
const room = { id: 'r', processor: 'reverb', settings: { decay: 0.6 } };
const double = { id: 'double', name: 'Bass double', blendDb: -12, chain: [drive] };
const air = { id: 'air', name: 'Air', blendDb: -15, chain: [room] };

/** The engine of the app without a browser: renders as it does, and a desk in place of the worker. */
class Studio implements SweepStudio {
  /** Strips run, in order. */
  readonly ran: string[] = [];
  /** How far each render ran. */
  readonly frames: number[] = [];
  readonly strips = new StripCache();
  private sweeping: SweepDesk | null = null;
  jobs = 0;
  parts: number[] = [];

  private constructor(
    readonly session: Session,
    readonly plan: Plan,
    readonly paths: RenderedPaths,
    readonly rough: Audio,
    readonly planOf: SweepStudio['planOf'],
    readonly received: SweepStudio['received'],
    private readonly desk: Desk,
  ) {}

  static async of(path: string): Promise<Studio> {
    const song = await songFromDisk(path);
    const { session, plan, paths, rough, planOf } = song;
    const groupsAlone = await song.rendered(asReceived(session));
    const received = cut(sumPaths(groupsAlone.paths, gainsOf(groupsAlone.plan)), groupsAlone.plan.songFrames);
    const desk: Desk = {
      session,
      basis: ledgerBasisOf([...paths].map(([id, audio]) => ({ id, ...ALONE, audio: cut(audio, plan.soundFrames) }))),
      gains: plan.paths.map(({ gain }) => gain),
      mixBus: plan.mixBus,
      references: {
        rough: finished(sideFindingsSteps(rough!)),
        received: finished(sideFindingsSteps(received)),
        receivedShares: finished(receivedGroupsSteps([...groupsAlone.paths].map(([id, audio]) => ({ id, audio }))))
          .shares,
      },
    };
    return new Studio(session, plan, paths, rough!, planOf, song.received, desk);
  }

  render: SweepStudio['render'] = (plan, sources, options = {}) => {
    this.ran.push(plan.strips.map(({ id }) => id).join(' '));
    this.frames.push(plan.frames);
    return renderDirect(plan, sources, options);
  };

  ask: SweepStudio['ask'] = (job, { onProgress, onRow }) => {
    this.jobs++;
    // It crosses into a worker.
    const { begin, round } = structuredClone(job);
    if (begin) this.sweeping = new SweepDesk(this.desk, this.paths, begin);
    return Promise.resolve(
      finished(
        this.sweeping!.steps(round, (row) => onRow?.(row as never)),
        onProgress,
      ),
    );
  };

  sweep(question: Partial<SweepQuestion> & Pick<SweepQuestion, 'axis'>, signal?: AbortSignal): Promise<Sweep> {
    const onProgress = (part: number): void => void this.parts.push(part);
    const asking = { onProgress, ...(signal ? { signal } : {}) };
    return sweepBy({ kind: 'sweep', section: null, ...question }, this, asking);
  }
}

interface Told {
  readonly rows: Sweep['rows'];
  readonly marks: Sweep['marks'];
  readonly notes: readonly string[];
}

const told = async (session: string, ...options: readonly string[]): Promise<Told> =>
  (await runJson('sweep', session, ...options)) as Told;

const AXIS = { bus: 'double', from: -18, to: 0, step: 6 };
const AXIS_OPTIONS = ['--bus', 'double', '--from', '-18', '--to', '0', '--step', '6'];
const SECOND = { bus: 'air', from: -12, to: 0, step: 6 };
const SECOND_OPTIONS = ['--second', 'air', '--second-from', '-12', '--second-to', '0', '--second-step', '6'];
const LATE = { startSeconds: 1, endSeconds: 3.5 };

const plainSong = writeSession(place, 'plain.json', { rough, sections, groups, buses: [double, air] });
const chained = writeSession(place, 'chained.json', {
  rough,
  sections,
  groups,
  buses: [{ ...double, sends: [{ to: 'air', levelDb: 0 }] }, air],
});

describe('the sweep in the app is that of the command line', () => {
  test('along one bus, guards and marks too; nothing is rendered', async () => {
    const studio = await Studio.of(plainSong);
    const sweep = await studio.sweep({ axis: AXIS });
    const { rows, marks } = await told(plainSong, ...AXIS_OPTIONS);
    expectAlike(sweep, { rows, marks });
    expect(sweep.rows.some(({ guards }) => guards.some(({ pass }) => !pass))).toBe(true);
    expect(studio.ran).toEqual([]);
  });

  test('over two buses as a grid', async () => {
    const sweep = await (await Studio.of(plainSong)).sweep({ axis: AXIS, second: SECOND });
    const { rows, marks } = await told(plainSong, ...AXIS_OPTIONS, ...SECOND_OPTIONS);
    expect(sweep.rows).toHaveLength(12);
    expectAlike(sweep, { rows, marks });
  });

  test('over a section, with the rough and the mix as received over that section', async () => {
    const studio = await Studio.of(plainSong);
    const sweep = await studio.sweep({ axis: AXIS, section: LATE });
    const { rows, marks } = await told(plainSong, ...AXIS_OPTIONS, '--section', 'late');
    expectAlike(sweep, { rows, marks });
    const whole = await studio.sweep({ axis: AXIS });
    expect(Math.abs(whole.rows[0]!.crestDb! - sweep.rows[0]!.crestDb!)).toBeGreaterThan(0.01);
  });

  test.each([
    ['the whole song', null, []],
    ['a section', LATE, ['--section', 'late']],
  ])('of a bus that feeds a reverb from behind its blend, over %s', async (_, section, options) => {
    const studio = await Studio.of(chained);
    const sweep = await studio.sweep({ axis: AXIS, section });
    const { rows, marks } = await told(chained, ...AXIS_OPTIONS, ...options);
    expect(marks).toBeNull();
    expectAlike(sweep, { rows, marks });
    expect(studio.ran).toHaveLength(4);
    // Nothing is rendered behind the section.
    expect(new Set(studio.frames)).toEqual(new Set([section ? 3.5 * 48_000 : studio.plan.frames]));
    expect(studio.parts).toEqual(studio.parts.toSorted((a, b) => a - b));
    expect(studio.parts.at(-1)).toBeCloseTo(1, 9);
  });

  test('of a grid whose one bus feeds: a render for each of its blends, and every cell in its place', async () => {
    const studio = await Studio.of(chained);
    const sweep = await studio.sweep({ axis: SECOND, second: AXIS, section: LATE });
    const options = ['--bus', 'air', '--from', '-12', '--to', '0', '--step', '6'];
    const second = ['--second', 'double', '--second-from', '-18', '--second-to', '0', '--second-step', '6'];
    const { rows, marks } = await told(chained, ...options, ...second, '--section', 'late');
    expectAlike(sweep, { rows, marks });
    expect(studio.ran).toHaveLength(4);
    expect(studio.jobs).toBe(12);
  });

  test('of a bus that is off, which feeds another before its blend: compared with the mix without either', async () => {
    const sends = [{ to: 'air', tap: 'pre-fader', levelDb: 0 }];
    const off = writeSession(place, 'off.json', {
      rough,
      sections,
      groups,
      buses: [{ ...double, on: false, sends }, air],
    });
    const studio = await Studio.of(off);
    const sweep = await studio.sweep({ axis: AXIS });
    const { rows, marks, notes } = await told(off, ...AXIS_OPTIONS);
    expect(notes.join()).toContain('as if it were on');
    expectAlike(sweep, { rows, marks });
    expect(studio.ran).toHaveLength(1);
    // Even at a shut blend it is heard through what it feeds.
    const shut = await studio.sweep({ axis: { ...AXIS, from: -90, to: -90 } });
    expect(Math.abs(shut.rows[0]!.matchGainDb!)).toBeGreaterThan(0.01);
  });
});

test('a sweep that is withdrawn between two renders stops there', async () => {
  const studio = await Studio.of(chained);
  const work = new AbortController();
  const ask = studio.ask;
  studio.ask = (...args) => {
    if (studio.jobs === 1) work.abort(new DOMException('not wanted', 'AbortError'));
    return ask(...args);
  };
  await expect(studio.sweep({ axis: AXIS }, work.signal)).rejects.toThrow('not wanted');
  expect(studio.jobs).toBe(2);
});

test('a section behind the end of the song is refused with one sentence', async () => {
  const studio = await Studio.of(plainSong);
  await expect(studio.sweep({ axis: AXIS, section: { startSeconds: 60, endSeconds: 70 } })).rejects.toThrow(
    'That section begins behind the end of the song: choose another one.',
  );
});
