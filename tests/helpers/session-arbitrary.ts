import fc from 'fast-check';
import type { Parameter, Setting } from '../../src/dsp/core/parameter.ts';
import { CHANNEL_MODES, POLARITIES } from '../../src/dsp/core/channel-mode.ts';
import { PAN_LAWS } from '../../src/dsp/core/pan.ts';
import { processors } from '../../src/dsp/core/registry.ts';
import type { Line } from '../../src/session/lines/line-schema.ts';
import { COMMON_NOTE_VALUES } from '../../src/session/note-values.ts';
import { MIX_LAWS } from '../../src/dsp/core/wet-dry.ts';
import {
  GUARDS,
  SESSION_VERSION,
  type ChainItem,
  type ProcessorItem,
  type Send,
  type Session,
  type SplitItem,
  type Trial,
} from '../../src/session/schema.ts';

/** Numbers as files hold them: JSON knows no -0, which would be read back as 0. */
const numbers = (min: number, max: number): fc.Arbitrary<number> =>
  fc.double({ min, max, noNaN: true }).map((value) => value + 0);

const decibels = numbers(-90, 24);
const names = fc.string({ minLength: 1, maxLength: 20, unit: 'binary' });

/** Any setting that a parameter allows. */
export const settingOf = (parameter: Parameter): fc.Arbitrary<Setting> => {
  if (parameter.kind === 'switch') return fc.boolean();
  if (parameter.kind === 'choice') return fc.constantFrom(...parameter.choices);
  const value = numbers(parameter.min, parameter.max);
  return parameter.noteValues ? fc.oneof(value, fc.constantFrom(...COMMON_NOTE_VALUES)) : value;
};

const mix = fc.oneof(fc.constant(100), numbers(0, 100));
const law = fc.constantFrom(...MIX_LAWS);

const processorItem: fc.Arbitrary<Omit<ProcessorItem, 'id'>> = fc
  .constantFrom(...processors.values())
  .chain((processor) => {
    const all = fc.record(
      Object.fromEntries(Object.entries(processor.parameters).map(([id, p]) => [id, settingOf(p)])),
    );
    const some = fc.subarray(Object.keys(processor.parameters));
    return fc.record({
      processor: fc.constant(processor.id),
      on: fc.boolean(),
      mix,
      law,
      settings: fc
        .tuple(all, some)
        .map(([settings, kept]) => Object.fromEntries(kept.map((id) => [id, settings[id]!]))),
    });
  });

const splitItem: fc.Arbitrary<Omit<SplitItem, 'id'>> = fc.record({
  on: fc.boolean(),
  mix,
  law,
  split: fc
    .array(processorItem, { minLength: 1, maxLength: 2 })
    .map((items) => items.map((item, n) => ({ id: `inside-${n}`, ...item }))),
});

/** Any chain of up to three processors and, among them, a split. */
export const chains: fc.Arbitrary<ChainItem[]> = fc
  .tuple(fc.array(processorItem, { maxLength: 3 }), fc.option(splitItem), fc.nat(3))
  .map(([items, split, at]) => [...items.slice(0, at), ...(split ? [split] : []), ...items.slice(at)])
  .map((items) => items.map((item, n) => ({ id: `item-${n}`, ...item })));

/** Sends to some of the buses that come after place `from`, so that no sound comes back. */
const sendsAfter = (from: number, buses: number): fc.Arbitrary<Send[]> =>
  fc.subarray(Array.from({ length: Math.max(0, buses - from) }, (_, n) => from + n)).chain((targets) =>
    fc.tuple(
      ...targets.map((n) =>
        fc.record({
          to: fc.constant(`bus-${n}`),
          levelDb: decibels,
          tap: fc.constantFrom('pre-fader' as const, 'post-fader' as const),
          on: fc.boolean(),
        }),
      ),
    ),
  );

const many = <T>(count: number, member: (n: number) => fc.Arbitrary<T>): fc.Arbitrary<T[]> =>
  fc.tuple(...Array.from({ length: count }, (_, n) => member(n)));

const limit = numbers(-60, 60);

const sides = fc.constantFrom('rough', 'received', 'mix', 'without:bus-0');
const trialOf = (kind: Trial['kind'], answers: readonly Trial['answers'][number][]): fc.Arbitrary<Omit<Trial, 'id'>> =>
  fc.record({
    kind: fc.constant(kind),
    a: sides,
    b: sides,
    section: fc.option(names),
    planned: fc.integer({ min: 2, max: 200 }),
    seed: fc.integer({ min: 0, max: 0xffffffff }),
    answers: fc.array(fc.constantFrom(...answers), { maxLength: 2 }),
  });
const trial = fc.oneof(trialOf('abx', ['right', 'wrong']), trialOf('preference', ['a', 'b']));

const tempoChange: fc.Arbitrary<Session['tempoChanges'][number]> = fc.record({
  bar: numbers(1.5, 40),
  tempo: numbers(20, 400),
  how: fc.constantFrom('step' as const, 'ramp' as const),
});

/** A line of the first group's fader. */
const levelLine: fc.Arbitrary<Line> = fc
  .uniqueArray(fc.integer({ min: 0, max: 100 }), { minLength: 1, maxLength: 4 })
  .chain((times) =>
    fc.record({
      id: fc.constant('line'),
      target: fc.constant({ of: 'group-0', what: 'level' as const }),
      unit: fc.constant('seconds' as const),
      on: fc.boolean(),
      points: many(times.length, (n) =>
        fc.record({
          at: fc.constant(times.toSorted((a, b) => a - b)[n]!),
          value: decibels,
          curve: fc.constantFrom('hold' as const, 'linear' as const, 's-curve' as const),
        }),
      ),
    }),
  );

const clientNote = fc.record({
  text: fc.string({ minLength: 1, maxLength: 20 }),
  startSeconds: fc.constantFrom(0, 61.5),
  endSeconds: fc.constantFrom(null, 70),
  done: fc.option(fc.record({ pass: fc.constantFrom(null, 'pass-0'), answer: fc.string({ maxLength: 20 }) })),
});

const sessionOf = (tracks: number, groups: number, buses: number): fc.Arbitrary<Session> =>
  fc.record({
    format: fc.constant('tributary-session' as const),
    version: fc.constant(SESSION_VERSION),
    title: names,
    artist: fc.string({ maxLength: 20 }),
    notes: fc.string({ maxLength: 40, unit: 'binary' }),
    sampleRate: fc.constantFrom(44_100, 48_000, 96_000),
    tempo: numbers(20, 400),
    meter: fc.tuple(fc.integer({ min: 1, max: 32 }), fc.constantFrom(1 as const, 2 as const, 4 as const, 8 as const)),
    tempoChanges: fc.option(tempoChange).map((change) => (change ? [change] : [])),
    meterChanges: fc.constant([]),
    panLaw: fc.constantFrom(...PAN_LAWS),
    rough: fc.option(
      fc.record({
        file: fc.constant('rough.wav'),
        offsetSeconds: numbers(-3600, 3600),
        chain: chains,
        sends: sendsAfter(0, buses),
      }),
    ),
    sections: fc.array(fc.record({ name: names, startSeconds: numbers(0, 100), endSeconds: numbers(101, 200) }), {
      maxLength: 3,
    }),
    receivedBalance: fc
      .record({ track: fc.constant('track-0'), gainDb: decibels, pan: numbers(-1, 1) })
      .map((place) => [place]),
    tracks: many(tracks, (n) =>
      fc.record({
        id: fc.constant(`track-${n}`),
        name: names,
        file: fc.constant(`tracks/${n}.wav`),
        group: fc.constant(`group-${n % groups}`),
        on: fc.boolean(),
        gainDb: decibels,
        pan: numbers(-1, 1),
        channels: fc.constantFrom(...CHANNEL_MODES),
        polarity: fc.constantFrom(...POLARITIES),
        offsetSeconds: numbers(-3600, 3600),
        chain: chains,
        key: fc.constantFrom(null, ...(n > 0 ? ['track-0'] : [])),
        sends: sendsAfter(0, buses),
      }),
    ),
    groups: many(groups, (n) =>
      fc.record({
        id: fc.constant(`group-${n}`),
        name: names,
        on: fc.boolean(),
        chain: chains,
        key: fc.constantFrom(null, 'track-0'),
        faderDb: decibels,
        vocal: fc.boolean(),
        sends: sendsAfter(0, buses),
        soloSafe: fc.boolean(),
      }),
    ),
    buses: many(buses, (n) =>
      fc.record({
        id: fc.constant(`bus-${n}`),
        name: names,
        on: fc.boolean(),
        chain: chains,
        key: fc.constantFrom(null, 'track-0', 'group-0'),
        blendDb: decibels,
        sends: sendsAfter(n + 1, buses),
        soloSafe: fc.boolean(),
      }),
    ),
    mixBus: fc.record({ trimDb: numbers(-60, 24), chain: chains }),
    lines: fc.option(levelLine).map((line) => (line ? [line] : [])),
    guards: fc
      .subarray([...GUARDS])
      .chain((kept) => many(kept.length, (n) => fc.record({ guard: fc.constant(kept[n]!), limit, on: fc.boolean() }))),
    passes: fc.constant([]),
    trials: fc.array(trial, { maxLength: 2 }).map((trials) => trials.map((of, n) => ({ id: `trial-${n}`, ...of }))),
    clientNotes: fc
      .array(clientNote, { maxLength: 2 })
      .map((notes) => notes.map((note, n) => ({ id: `note-${n}`, ...note }))),
  });

const shapes = fc.tuple(fc.integer({ min: 1, max: 3 }), fc.integer({ min: 1, max: 2 }), fc.integer({ min: 0, max: 3 }));
const withoutPasses = shapes.chain(([tracks, groups, buses]) => sessionOf(tracks, groups, buses));

/** Any valid session of a few tracks, groups and buses, and up to two passes: mixes of a shape of their own. */
export const sessions: fc.Arbitrary<Session> = fc
  .tuple(withoutPasses, fc.array(fc.tuple(withoutPasses, names, fc.string({ maxLength: 20 })), { maxLength: 2 }))
  .map(([session, others]) => ({
    ...session,
    passes: others.map(([{ tracks, groups, buses, mixBus, rough, lines }, name, note], n) => {
      const source = rough && { chain: rough.chain, sends: rough.sends };
      return { id: `pass-${n}`, name, note, tracks, groups, buses, mixBus, rough: source, lines };
    }),
  }));
