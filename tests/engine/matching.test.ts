import { describe, expect, it } from 'vitest';
import type { Heard } from '../../src/engine/engine.ts';
import { countedOf, matchingOf } from '../../src/engine/listening/matching.ts';
import { SideLevels, type LevelMeter } from '../../src/engine/listening/side-levels.ts';
import { mono, silence, sine, stereo } from '../helpers/signals.ts';
import { heardLoudness } from '../../src/measure/heard.ts';
import { excerptOf, type Frames } from '../../src/engine/excerpt.ts';
import type { SoundRef } from '../../src/engine/worker/protocol.ts';
import { SoundRefs } from '../../src/engine/worker/sound-refs.ts';
import type { Audio } from '../../src/audio/audio.ts';

describe('matching', () => {
  const levels = new Map<Heard, number | null>([
    ['rough', -20],
    ['mix', -14.5],
    ['pass:one', -23],
    ['without:bus', null],
  ]);

  it('turns everything down to the quietest of what is compared, and nothing up', () => {
    const { lufs, downDb } = matchingOf(levels, ['rough', 'mix']);
    expect(lufs).toBe(-20);
    expect([...downDb]).toEqual([
      ['rough', 0],
      ['mix', -5.5],
    ]);
    expect(matchingOf(levels, ['rough', 'mix', 'pass:one']).downDb.get('mix')).toBe(-8.5);
  });

  it('stays at the loudness it had while the quietest rises by little, and never above the quietest', () => {
    const at = (mix: number, before: number | null) => matchingOf(new Map([['mix', mix]]), ['mix'], before);
    expect(at(-19, -20)).toMatchObject({ lufs: -20, turnedTo: -20, downDb: new Map([['mix', -1]]) });
    expect(at(-17.5, -20).lufs).toBe(-17.5);
    expect(at(-20.5, -20).lufs).toBe(-20.5);
  });

  it('counts what may be flipped to beforehand, but for what would turn all else far down, or is not known', () => {
    const more = new Map<Heard, number | null>([...levels, ['without:one', -28], ['without:two', -31]]);
    const others: readonly Heard[] = ['without:bus', 'without:one', 'without:two', 'without:new'];
    expect(countedOf(more, ['rough', 'mix'], others)).toEqual(['rough', 'mix', 'without:one']);
  });

  it('leaves a side that has no loudness as it is', () => {
    const { lufs, downDb } = matchingOf(levels, ['mix', 'without:bus']);
    expect(lufs).toBe(-14.5);
    expect(downDb.get('without:bus')).toBe(0);
  });

  it('tells no level while one is not known, and matches what is', () => {
    const { lufs, downDb } = matchingOf(levels, ['rough', 'mix', 'received']);
    expect(lufs).toBeNull();
    expect(downDb.get('mix')).toBe(-5.5);
  });
});

const refs = new SoundRefs();

/** A sound by reference, as the main thread knows it. */
const refTo = (sound: Audio): SoundRef => {
  refs.put(`${refs.of(sound).id}`, [sound]);
  return refs.of(sound);
};

/** A meter that measures at once, and notes what it is asked of the blend. */
const meterOf = (): LevelMeter & { readonly asked: [readonly Heard[], readonly Heard[], Frames | null][] } => {
  const asked: [readonly Heard[], readonly Heard[], Frames | null][] = [];
  return {
    asked,
    loudnessOf: ({ id }, frames) => Promise.resolve(heardLoudness(excerptOf(refs.find(id)!, frames))),
    levels: (compared, others, frames) => void asked.push([compared, others, frames]),
  };
};
const turn = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 0));

/** Two seconds at one level, two at another. */
const stepped = (firstDb: number, secondDb: number): SoundRef => {
  const first = sine({ hz: 1000, seconds: 2, db: firstDb });
  const whole = Float32Array.from([...first, ...sine({ hz: 1000, seconds: 2, db: secondDb })]);
  return refTo(stereo(whole));
};

describe('levels of sides', () => {
  it('count over the section in loop, and over the song again when the loop ends', async () => {
    const levels = new SideLevels(meterOf(), () => {});
    levels.sound('pass:one', stepped(-23, -33));
    await turn();
    // A stereo sine of peak -23 dBFS is -23 LUFS (EBU Tech 3341 case 1).
    levels.over({ startSeconds: 0, endSeconds: 2 }, 48_000);
    expect(levels.all.get('pass:one')!.settled).toBe(false);
    await turn();
    expect(levels.all.get('pass:one')!.lufs).toBeCloseTo(-23, 1);
    levels.over({ startSeconds: 2, endSeconds: 4 }, 48_000);
    await turn();
    expect(levels.all.get('pass:one')!.lufs).toBeCloseTo(-33, 1);
    levels.over(null, 48_000);
    expect(levels.all.get('pass:one')).toMatchObject({ settled: true });
    expect(levels.all.get('pass:one')!.lufs).toBeGreaterThan(-27);
  });

  it('of one channel are what two loudspeakers make of it', async () => {
    const levels = new SideLevels(meterOf(), () => {});
    levels.sound('pass:one', refTo(mono(sine({ hz: 1000, seconds: 2, db: -23 }))));
    await turn();
    // One channel of that sine measures -26.0 LUFS; both loudspeakers play it.
    expect(levels.all.get('pass:one')!.lufs).toBeCloseTo(-23.01, 1);
    levels.over({ startSeconds: 0.5, endSeconds: 1.5 }, 48_000);
    await turn();
    expect(levels.all.get('pass:one')!.lufs).toBeCloseTo(-23, 1);
  });

  it('of the blend are asked for with the paths that are left out, and dropped with them', () => {
    const meter = meterOf();
    const levels = new SideLevels(meter, () => {});
    levels.wholeMix(-18);
    levels.blend(['without:bus'], ['without:drums'], true);
    expect(meter.asked.at(-1)).toEqual([['without:bus'], ['without:drums'], null]);
    levels.found('without:bus', { lufs: -19, settled: true });
    levels.over({ startSeconds: 1, endSeconds: 2 }, 48_000);
    expect(meter.asked.at(-1)).toEqual([['mix', 'without:bus'], ['without:drums'], { from: 48_000, to: 96_000 }]);
    expect([...levels.all.values()].map(({ settled }) => settled)).toEqual([false, false]);
    const count = meter.asked.length;
    levels.blend(['without:bus'], ['without:drums'], false);
    expect(meter.asked.length).toBe(count);
    levels.blend([], ['without:drums'], false);
    expect(levels.all.has('without:bus')).toBe(false);
  });

  it('of the mix without a path are foreseen from what it changes, and hold until they are measured', () => {
    let changes: Record<string, number | null> = {};
    const levels = new SideLevels(
      meterOf(),
      () => {},
      (path) => changes[path],
    );
    levels.blend([], ['without:bus', 'without:all'], true);
    levels.wholeMix(-18);
    expect([...levels.all.keys()]).toEqual(['mix']);
    changes = { bus: -1.5, all: null };
    levels.foresee();
    expect(levels.all.get('without:bus')).toEqual({ lufs: -19.5, settled: false });
    expect(levels.all.get('without:all')).toEqual({ lufs: null, settled: false });

    levels.found('without:bus', { lufs: -19.2, settled: true });
    levels.foresee();
    expect(levels.all.get('without:bus')).toEqual({ lufs: -19.2, settled: true });
    // The blend moves: what the mix bus chain made of the path before, 0.3 LU, is taken to stay.
    levels.wholeMix(undefined);
    levels.blend([], ['without:bus', 'without:all'], true);
    changes = { bus: -2, all: null };
    levels.wholeMix(-17);
    expect(levels.all.get('without:bus')!.lufs).toBeCloseTo(-18.7, 9);
    expect(levels.all.get('without:bus')!.settled).toBe(false);
  });

  it('of a section begin with what is known of the song, until the meter has looked at it', () => {
    const levels = new SideLevels(
      meterOf(),
      () => {},
      () => -1,
    );
    levels.blend([], ['without:bus'], true);
    levels.over({ startSeconds: 1, endSeconds: 2 }, 48_000);
    levels.found('mix', { lufs: -20, settled: true });
    expect(levels.all.get('without:bus')!.lufs).toBe(-21);
    levels.found('without:bus', { lufs: -20.4, settled: false });
    levels.foresee();
    expect(levels.all.get('without:bus')!.lufs).toBe(-20.4);
  });

  it('of what is silent are none', async () => {
    const levels = new SideLevels(meterOf(), () => {});
    levels.sound('pass:one', refTo(stereo(silence(2))));
    await turn();
    expect(levels.all.get('pass:one')).toEqual({ lufs: null, settled: true });
  });
});
