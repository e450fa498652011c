import { describe, expect, test } from 'vitest';
import { valuesFrom, type Settings } from '../../src/dsp/core/parameter.ts';
import { processorOf, processors } from '../../src/dsp/core/registry.ts';
import { keyed, movedBy, resetOf, stepped, type Held } from '../../src/ui/picture/handle-moves.ts';
import { scalesFor, type Frame } from '../../src/files/page/picture-geometry.ts';

const RATE = 48_000;
const frame: Frame = { width: 400, height: 300, left: 40, right: 14, top: 20, bottom: 32 };
const song: Held['song'] = { tempo: 120, meter: [4, 4] };

const heldOf = (id: string, settings: Settings): Held => {
  const { parameters } = processorOf(id);
  return {
    parameters,
    settingOf: (name) => settings[name] ?? parameters[name]!.default,
    values: valuesFrom(parameters, settings),
    song,
  };
};
const handlesOf = (id: string, settings: Settings) => {
  const { picture, parameters } = processorOf(id);
  return picture.handles!(valuesFrom(parameters, settings), RATE);
};
const handleOf = (id: string, settings: Settings, handle: string) =>
  handlesOf(id, settings).find((each) => each.id === handle)!;

/** Settings at which every handle stands inside its picture. */
const INSIDE: Readonly<Record<string, Settings>> = {
  compressor: { threshold: -30, ratio: 4, knee: 6 },
  gate: { threshold: -30, ratio: 3, range: 20 },
  limiter: { ceiling: -6, drive: 6 },
  reverb: { preDelay: 400, decay: 2, lowDecay: 120, damping: 40, mix: 100 },
  chorus: { delay: 20, mix: 50 },
  convolution: { preDelay: 100, mix: 50 },
  doubler: { delay: 40, mix: 50 },
  exciter: { amount: 40, frequency: 5000 },
  'harshness-control': { range: 8, from: 2000, to: 8000 },
  panner: { width: 120, monoBelow: 120 },
  'sub-octave': { amount: 40, highestFundamental: 90, highCut: 90 },
  transient: { attack: 6, sustain: -3 },
  widener: { monoBelow: 120, lowWidth: 80, midWidth: 120, highWidth: 150 },
};
const withHandles = [...processors.values()].filter(({ picture }) => picture.handles);
/** The digits that are kept of a value move the handle by so much at most, px: -10.1 % of bias for -10.123 is less. */
const ROUNDING_PX = 1.5;
/** So far it is dragged, px. */
const MOVED = 9;

describe.each(withHandles.map(({ id }) => id))('the handles of the %s', (id) => {
  const settings = { ...processorOf(id).start, ...INSIDE[id] };
  test('go where they are dragged to, each way', () => {
    const { picture } = processorOf(id);
    const { x, y } = scalesFor(picture, frame);
    const handles = handlesOf(id, settings);
    expect(handles.length).toBeGreaterThan(0);
    for (const handle of handles) {
      // What is moved one way must not depend on where else it stands.
      for (const [axis, across, up] of [
        [handle.across, -MOVED, 0],
        [handle.up, 0, MOVED],
      ] as const) {
        const moved = movedBy(heldOf(id, settings), handle, picture, frame, [across, up]);
        expect(Object.keys(moved)).toEqual(axis ? [axis.parameter] : []);
        if (!axis) continue;
        const now = handleOf(id, { ...settings, ...moved }, handle.id);
        // The drive moves with the hand, but the curve bends under it.
        if (handle.id !== 'drive' || picture.kind !== 'transfer') {
          if (across !== 0) expect(Math.abs(x(now.x) - x(handle.x) - across)).toBeLessThan(ROUNDING_PX);
          // The range of a gate is held where its curve reaches it, which moves along.
          if (up !== 0 && handle.id !== 'range')
            expect(Math.abs(y(now.y) - y(handle.y) - up)).toBeLessThan(ROUNDING_PX);
        }
      }
    }
  });
});

test('each processor has some', () => {
  expect(withHandles.map(({ id }) => id)).toEqual([...processors.keys()]);
});

test('the gain is a factor of the sample, inverted where its polarity is', () => {
  // 20 log10 2 = 6.0206 dB: a quarter comes out as a half.
  expect(handleOf('gain', { gain: 6.0206 }, 'gain').y).toBeCloseTo(0.5, 4);
  const { y, up } = handleOf('gain', { gain: 0, polarity: 'inverted' }, 'gain');
  expect(y).toBeCloseTo(-0.25, 9);
  expect(up!.at(-0.5)).toBeCloseTo(6.0206, 4);
});

test('an impulse response is cut where its handle stands', () => {
  const { picture, parameters } = processorOf('convolution');
  const values = valuesFrom(parameters, { preDelay: 100, length: 50, mix: 50 });
  const end = picture.handles!(values, RATE, 3).find(({ id }) => id === 'length')!;
  // Half of 3 s behind 0.1 s.
  expect(end.x).toBeCloseTo(1.6, 9);
  expect(end.across!.at(0.85)).toBeCloseTo(25, 9);
});

test('the ratio is read off the static curve at full scale', () => {
  // Arithmetic: 30 dB above the threshold come out 30 / 4 = 7.5 dB above it.
  const { x, y, up } = handleOf('compressor', { threshold: -30, ratio: 4, knee: 0 }, 'ratio');
  expect([x, y]).toEqual([0, -22.5]);
  // 15 dB above it are 2 : 1.
  expect(up!.at(-15)).toBeCloseTo(2, 9);
});

test('the decay by band is the time of 60 dB, by definition of the reverberation time', () => {
  const settings = { decay: 2, preDelay: 100, lowDecay: 150, damping: 50, mix: 100 };
  expect(handleOf('reverb', settings, 'decay').x).toBeCloseTo(2.1, 9);
  // 45 dB down, at 3 s for 60: 2.25 s behind the pre-delay. 30 dB down, at 1 s for 60: 0.5 s.
  expect(handleOf('reverb', settings, 'lowDecay').x).toBeCloseTo(2.35, 9);
  expect(handleOf('reverb', settings, 'damping').x).toBeCloseTo(0.6, 9);
});

test('a width is a level of the side', () => {
  // 20 log10 2 = 6.0206 dB.
  expect(handleOf('widener', { highWidth: 200 }, 'highWidth').y).toBeCloseTo(6.0206, 4);
});

test('a delay of a note value is dragged from note to note', () => {
  const held = heldOf('delay', { time: '1/4' });
  const values = valuesFrom(held.parameters, { time: 500, mix: 50 });
  const { picture } = processorOf('delay');
  const handle = picture.handles!(values, RATE).find(({ id }) => id === 'time')!;
  const { x } = scalesFor(picture, frame);
  // At 120 BPM a dotted quarter note is 750 ms.
  const moved = movedBy({ ...held, values }, handle, picture, frame, [x(0.74) - x(0.5), 0]);
  expect(moved).toEqual({ time: '1/4 dotted' });
  expect(stepped({ ...held, values }, 'time', -1, 'plain')).toEqual({ time: '1/8 dotted' });
});

test('a band is added where there was none, taken away, and reset', () => {
  const { picture, parameters } = processorOf('eq');
  const values = valuesFrom(parameters, { 'band5.on': true });
  const added = picture.add!(values, [1500, 3])!;
  // Band 5 is taken: of the others, that at 3.5 kHz is nearer than that at 600 Hz (1.22 octaves; 1.32).
  expect(added.id).toBe('band6');
  expect(added.settings).toMatchObject({ 'band6.on': true, 'band6.frequency': 1500, 'band6.gain': 3 });
  const handle = handleOf('eq', added.settings, 'band6');
  expect(keyed(heldOf('eq', added.settings), handle, 'Delete', false)).toEqual({ 'band6.on': false });
  expect(resetOf(parameters, handle)).toEqual({ 'band6.gain': 0, 'band6.q': Math.SQRT1_2 });
  const all = Object.fromEntries([1, 2, 3, 4, 5, 6, 7, 8].map((n) => [`band${n}.on`, true]));
  expect(picture.add!(valuesFrom(parameters, all), [1000, 0])).toBeNull();
});

test('the wheel steps the slope of a cut', () => {
  const held = heldOf('eq', { 'band1.on': true, 'band1.shape': 'low cut' });
  const handle = handleOf('eq', { 'band1.on': true, 'band1.shape': 'low cut' }, 'band1');
  expect(stepped(held, handle.wheel!, 1, 'plain')).toEqual({ 'band1.slope': '18 dB/oct' });
});
