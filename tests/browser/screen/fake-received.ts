import { invertedInRough } from '../../../src/intake/checks/song-checks.ts';
import { warning } from '../../../src/intake/checks/warning.ts';
import { fileNameParts } from '../../../src/intake/file-names.ts';
import type { Received } from '../../../src/intake/received.ts';
import type { TrackInRough } from '../../../src/intake/rough/track-in-rough.ts';
import type { ReceivedFiles } from '../../../src/engine/received/received-files.ts';
import { fakeMeasurement } from './fake-figures.ts';

const RATE = 48_000;
const SECONDS = 4;

const placed = (n: number): TrackInRough => ({
  ...{
    gainDb: -3 - n,
    pan: 0.25 * ((n % 3) - 1),
    law: 'pan',
    isSwapped: false,
    polarity: 1,
    confidence: 0.98,
    errorDb: 0.04,
    panError: 0.01,
  },
  ...{ isInRough: true, shiftSamples: 0, twins: [], together: null },
  levels: [{ startSeconds: 0, endSeconds: SECONDS, gainDb: -3 - n }],
});

/** What is found of files that look like a song: the first of inverted polarity, the second with an offset, the others clean. */
export const fakeReceived = ({ tracks, rough }: ReceivedFiles): Received => {
  const file = {
    ...{ sampleRate: RATE, channels: 2, frames: SECONDS * RATE, figures: fakeMeasurement(-21, -9), startSeconds: 0 },
    facts: { kind: 'wav', bits: 24, isFloat: false, isLossy: false, timeReference: null },
  } as const;
  const warnings = [
    [invertedInRough()],
    [warning('dc-offset', 'Its mean lies at -31 dBFS.', 'Cut what is below 10 Hz.', { kind: 'low cut', hz: 10 }, true)],
  ];
  return {
    tracks: tracks.map(([path], n) => ({
      ...file,
      file: path,
      told: fileNameParts(path),
      warnings: warnings[n] ?? [],
    })),
    rough: rough && {
      ...{ ...file, file: rough[0], warnings: [], comparedAt: RATE },
      explained: {
        ...{
          isMono: false,
          lagSamples: 480,
          lagError: 0,
          driftPpm: 0,
          polarity: 1,
          gainDb: -4,
          residualDb: -18,
          leftDb: -31,
        },
        ...{ response: [{ hz: 8000, gainDb: 2.1 }], movementDb: 2.5 },
        stretches: [{ startSeconds: 0, endSeconds: SECONDS, lagSeconds: 0.01, drift: 0 }],
        tracks: tracks.map((_, n) => placed(n)),
        leftover: { bands: [], course: [], strangers: [], owner: null },
      },
    },
    ...{ pairs: [], aside: [], isPlacedByTime: false },
    guesses: {
      time: {
        ...{ tempo: 112, confidence: 0.8, firstBeatSeconds: 0.1, downbeat: { seconds: 0.1, confidence: 0.6 } },
        alternatives: [{ tempo: 56, confidence: 0.15 }],
      },
      sections: [
        { startSeconds: 0, endSeconds: 2, confidence: 1 },
        { startSeconds: 2, endSeconds: 4, confidence: 0.7 },
      ],
    },
  };
};
