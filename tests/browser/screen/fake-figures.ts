import { changeOf } from '../../../src/measure/change.ts';
import type { Figures, Measurement } from '../../../src/measure/figures.ts';
import { thirdOctavesBelow } from '../../../src/measure/third-octaves.ts';
import type { Session } from '../../../src/session/schema.ts';
import type {
  Findings,
  Heard,
  PathFindings,
  Range,
  SectionFindings,
  SectionSide,
  SideFindings,
} from '../../../src/engine/engine.ts';
import { NOTHING_AUDIBLE, type ListeningView } from '../../../src/engine/listening/listening-view.ts';

/** Figures that look like those of a song; they stand for nothing and no test reads them as a measurement. */
export const fakeMeasurement = (lufs: number, widthDb: number, tilt = 0): Measurement => ({
  integratedLufs: lufs,
  loudnessRangeLu: 6.4 + tilt,
  maxMomentaryLufs: lufs + 5.1,
  maxShortTermLufs: lufs + 3,
  truePeakDbtp: Math.min(-0.6, lufs + 16.4),
  samplePeakDbfs: Math.min(-0.9, lufs + 16.1),
  rmsDbfs: lufs + 1.7,
  crestDb: 14.4 - tilt,
  plrDb: 16.4,
  dcOffset: 0.00001,
  clippedSamples: 0,
  stereo: { correlation: 0.72, sideToMidDb: widthDb, balanceDb: 0.2, monoLossLu: -0.6 + widthDb / 30 },
  bands: thirdOctavesBelow(48_000).map(({ hz }, band) => ({
    hz,
    levelDb: lufs - 12 - ((band - 9) / 6) ** 2 + tilt * Math.sin(band / 4),
    sideToMidDb: widthDb - 14 + band * 0.6 + Math.sin(band / 2),
  })),
  reasons: {},
  notes: {},
});

const COLUMNS = 720;

const wave = (middle: number, reach: number, turns: number): Float32Array =>
  Float32Array.from({ length: COLUMNS }, (_, n) => middle + reach * Math.sin((turns * 2 * Math.PI * n) / COLUMNS));

/** The same with details and courses over time. */
export const fakeSide = (lufs: number, widthDb: number, tilt = 0): SideFindings => ({
  ...fakeMeasurement(lufs, widthDb, tilt),
  details: {
    truePeakSeconds: 12.345,
    truePeakChannel: 1,
    clippedRuns: 0,
    minPsrDb: 9.1,
    noiseFloorDbfs: -61.2,
    leadingSilenceSeconds: 0.02,
    trailingSilenceSeconds: 1.4,
    minCorrelation: 0.31,
    lowsCorrelation: 0.96,
    slopeDbPerOctave: -4.6 + tilt / 10,
    onsetStrength: 0.118,
    onsetToSustainDb: -9.4 + tilt,
    bandMonoLoss: [],
  },
  overTime: {
    hopSeconds: 0.1,
    momentaryLufs: wave(lufs + 1, 4, 23),
    shortTermLufs: wave(lufs, 3, 5).fill(Number.NaN, 0, 29),
    correlation: wave(0.6, 0.3, 11),
    sideToMidDb: wave(widthDb, 3, 7),
    psrDb: wave(12, 2, 9),
  },
});

const shifted = (figures: Figures, lu: number, hz: number, widthDb: number, crestDb: number): Figures => ({
  ...figures,
  integratedLufs: figures.integratedLufs! + lu,
  crestDb: figures.crestDb! + crestDb,
  stereo: {
    ...figures.stereo,
    sideToMidDb: figures.stereo.sideToMidDb! + widthDb,
    monoLossLu: figures.stereo.monoLossLu! - widthDb / 4,
  },
  bands: figures.bands.map((band) => ({
    ...band,
    levelDb: band.levelDb! + lu * 2.6 * Math.exp(-(Math.log2(band.hz / hz) ** 2) / 3),
  })),
});

const HZ = [110, 70, 900, 1600, 2500, 140, 1200, 1800, 500, 2200, 9000];
const WEIGHTS = [31, 17, 9, 11, 14, 8, 5, 4, -1.2, 2, 1];

const fakePath = (mix: Figures, place: number, share: number): PathFindings => {
  const lu = share * 9;
  const without = shifted(mix, -lu, HZ[place % HZ.length]!, place % 3 ? -0.4 * share * 6 : 0.7, place % 2 ? 0.5 : -0.9);
  return {
    shareOfLoudness: share,
    without,
    change: changeOf(without, mix),
    alignment: {
      lagSamples: place < 5 ? null : place === 8 ? 37 : 0,
      polarity: place === 8 ? -1 : 1,
      cancelsDb: place === 8 ? -1.4 : 0,
    },
    flags:
      place === 8
        ? [
            {
              code: 'late',
              reason: 'Late by 37 samples (0.77 ms) relative to Drums.',
              wayOut: 'Take the delay out.',
            },
            { code: 'polarity', reason: 'Polarity inverted relative to Drums.', wayOut: 'Invert its polarity.' },
          ]
        : [],
    sentence: `Adds ${lu.toFixed(1)} LU, mostly between 200 Hz and 1 kHz; lowers crest slightly.`,
  };
};

/** Findings for every path of the session; what is off, or shut, brings nothing. */
export const fakeFindings = (session: Session): Omit<Findings, 'guards'> => {
  const paths = [
    ...session.groups.map(({ id, on, faderDb }) => ({ id, on, db: faderDb, usual: 0 })),
    ...session.buses.map(({ id, on, blendDb }) => ({ id, on, db: blendDb, usual: -15 })),
  ];
  const weights = paths.map(({ on, db, usual }, i) =>
    on ? WEIGHTS[i % WEIGHTS.length]! * 10 ** ((db - usual) / 14) : 0,
  );
  const sum = weights.reduce((total, weight) => total + weight, 0) || 1;
  const before = fakeMeasurement(-18.4 + 5 * Math.log10(sum / 100), -8.1, 0.6);
  return {
    rough: fakeSide(-19.6, -9.4),
    received: fakeSide(-20.9, -9.9, -0.3),
    mix: fakeSide(before.integratedLufs! + 0.5, -7.6, 1.4),
    beforeMixBus: before,
    section: null,
    paths: new Map(paths.map(({ id }, i) => [id, fakePath(before, i, weights[i]! / sum)])),
  };
};

/** Everything can be heard, passes too, each at a level of its own. */
export const fakeListening = ({ passes, groups, buses }: Session): ListeningView => {
  const levels: (readonly [Heard, number])[] = [
    ['rough', -19.6],
    ['received', -20.9],
    ['mix', -17.9],
    ...passes.map(({ id }, n): readonly [Heard, number] => [`pass:${id}`, -18.5 - n / 2]),
    ...[...groups, ...buses].map(({ id }, n): readonly [Heard, number] => [`without:${id}`, -19 - n / 10]),
  ];
  return {
    audible: levels.map(([side]) => side),
    matchedLufs: -20.9,
    comparison: { ...NOTHING_AUDIBLE.comparison, levels: new Map(levels) },
  };
};

/** Figures of a section: another one, another loudness. */
export const fakeSection = (session: Session, range: Range | null): SectionFindings | null => {
  if (!range) return null;
  const { rough, received, mix } = fakeFindings(session);
  const louder = <Side extends SectionSide | null>(side: Side): Side =>
    side && side.integratedLufs !== null
      ? { ...side, integratedLufs: side.integratedLufs + range.startSeconds / 10 }
      : side;
  return { range, rough: louder(rough), received: louder(received), mix: louder(mix!), isEarly: false };
};
