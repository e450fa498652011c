import { bringUp } from '../../../src/blend/solve/bring-up.ts';
import type { GuardResult } from '../../../src/blend/guards/guards.ts';
import { feedsOthers } from '../../../src/blend/sweep/feeds.ts';
import { sweepPoints, type Sweep, type SweepRow } from '../../../src/blend/sweep/sweep.ts';
import { changeOf } from '../../../src/measure/change.ts';
import type { Fittable, FittedChain } from '../../../src/render/fit/fit-chain.ts';
import { thirdOctavesBelow } from '../../../src/measure/third-octaves.ts';
import type { Reduction } from '../../../src/render/reduction.ts';
import type { Session } from '../../../src/session/schema.ts';
import type {
  Answers,
  Question,
  Solved,
  SweepQuestion,
  StageSpectrum,
  WaveformQuestion,
} from '../../../src/engine/questions.ts';
import type { Overview } from '../../../src/engine/engine.ts';
import { fakeMeasurement } from './fake-figures.ts';
import { fakeLedger, fakeProcessors } from './fake-ledger.ts';

/** Steady sound. */
const fakeWave = ({ range, columns }: WaveformQuestion): Overview => ({
  min: new Float32Array(columns).fill(-0.5),
  max: new Float32Array(columns).fill(0.5),
  secondsPerColumn: (range.endSeconds - range.startSeconds) / columns,
  startSeconds: range.startSeconds,
});

/** Guards that look like those of a song: one of them broken. */
export const fakeGuards: readonly GuardResult[] = [
  {
    name: 'true-peak ceiling',
    limit: -1,
    unit: 'dBTP',
    bound: 'at most',
    value: -2.1,
    pass: true,
    against: null,
    sentence: 'True-peak ceiling is -2.1 dBTP, within the limit of at most -1 dBTP.',
  },
  {
    name: 'width change',
    limit: 3,
    unit: 'dB',
    bound: 'at most',
    value: 4.2,
    pass: false,
    against: 'rough',
    sentence: 'Width change is 4.2 dB (wider, against the rough), outside the limit of at most 3 dB.',
  },
];

const received = fakeMeasurement(-20.9, -9.9);

const rowAt = (blendDb: number, secondBlendDb?: number): SweepRow => {
  const gain = 10 ** (blendDb / 20) + (secondBlendDb === undefined ? 0 : 10 ** (secondBlendDb / 20) / 2);
  const figures = fakeMeasurement(-19 + 2 * gain, -9.9 + 1.4 * gain, gain);
  return {
    ...figures,
    blendDb,
    ...(secondBlendDb === undefined ? {} : { secondBlendDb }),
    slopeDbPerOctave: -4.6 + 0.4 * gain,
    lowsCorrelation: 0.95,
    onsetStrength: 0.12,
    onsetToSustainDb: -9 - gain,
    change: changeOf(received, figures),
    matchGainDb: received.integratedLufs! - figures.integratedLufs!,
    // The one that can be broken is so above unity.
    guards: fakeGuards.map((guard) => ({ ...guard, pass: guard.pass || gain < 1 })),
  };
};

const fakeSweep = ({ axis, second }: SweepQuestion, isRendered: boolean): Sweep => ({
  rows: sweepPoints(axis, second).map(({ blendDb, secondBlendDb }) => rowAt(blendDb, secondBlendDb)),
  marks:
    second || isRendered
      ? null
      : {
          guards: [{ guard: 'mono loss', blendDb: -2.4, breaks: 'above' }],
          brokenThroughout: [],
          audible: { blendDb: -17.3, rule: 'invented', sentence: 'It is heard from -17.3 dB up.' },
          knees: [{ figure: 'crestDb', blendDb: -8 }],
        },
});

const fakeSolved = ({ buses }: Session): Solved => {
  const moves = buses.slice(0, 2).map(({ id, name, blendDb }) => ({
    id,
    name,
    fromDb: blendDb,
    toDb: blendDb + 2.5,
    movedDb: 2.5,
    atLimit: null,
  }));
  return {
    solution: {
      blends: new Map(moves.map(({ id, toDb }) => [id, toDb])),
      gains: [],
      before: received,
      after: received,
      met: false,
      targets: [],
      guards: [],
      moves,
      withinDb: 6,
      queries: 200,
      prints: 3,
    },
    headline: 'Not all targets can be met.',
    sentences: [
      'Width (side to mid) came to -8.05 dB, as high as guards allow; the guard "width change" stood in the way of more.',
    ],
  };
};

const fakeReduction = (seconds: number): Reduction => ({
  hopSeconds: 512 / 48_000,
  reductionDb: Float32Array.from({ length: Math.ceil((seconds * 48_000) / 512) }, (_, n) => 5 + 4 * Math.sin(n / 17)),
  levels: { lowDb: -60, shares: Array.from({ length: 60 }, (_, db) => Math.exp(-(((db - 38) / 9) ** 2)) / 16) },
});

const fakeSpectrum = (): StageSpectrum => {
  const hz = thirdOctavesBelow(48_000).map((band) => band.hz);
  const before = hz.map((_, n) => -20 - Math.abs(n - 8));
  return { hz, before, after: before.map((db, n) => db + Math.sin(n / 4)) };
};

/** As if the sound came 6 dB louder than what each preset is written for. */
const fakeFit = ({ chain }: Fittable): FittedChain => ({
  chain: chain.map((item) =>
    'settings' in item && typeof item.settings.threshold === 'number'
      ? { ...item, settings: { ...item.settings, threshold: item.settings.threshold + 6 } }
      : item,
  ),
  items: [],
  gainDb: 1.5,
  levelLu: 0,
  softerFor: null,
});

/** Answers that look like those of a song; they stand for nothing and no test reads them as a measurement. */
export const fakeAnswer = (question: Question, session: Session): Answers[Question['kind']] => {
  if (question.kind === 'sweep') return fakeSweep(question, feedsOthers(session, question.axis.bus));
  if (question.kind === 'solve') return fakeSolved(session);
  if (question.kind === 'ledger') return fakeLedger(session, question.section === null ? 0 : 1.5);
  if (question.kind === 'processors') return fakeProcessors(session, question.path);
  if (question.kind === 'match make-up') return 4.2;
  if (question.kind === 'waveform') return fakeWave(question);
  if (question.kind === 'stage spectrum') return fakeSpectrum();
  if (question.kind === 'fit preset') return fakeFit(question.preset);
  if (question.kind === 'approval') return '<!doctype html><title>Versions</title>';
  if (question.kind === 'reduction') return fakeReduction(question.range!.endSeconds - question.range!.startSeconds);
  const ids = [...session.groups, ...session.buses].map(({ id }) => id);
  const query = {
    ids,
    allFigures: (gains: readonly number[]) => fakeMeasurement(-21 + gains.reduce((sum, gain) => sum + gain, 0) / 5, -9),
  } as unknown as Parameters<typeof bringUp>[0];
  return bringUp(
    query,
    ids.map(() => 0.5),
    question.order,
    question.downDb,
  );
};
