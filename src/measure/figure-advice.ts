import type { ShownKey } from './shown-figures.ts';

/** What a newcomer asks of a figure beside what it is. */
export interface FigureAdvice {
  /** What makes it larger or smaller. */
  readonly moves: string;
  /** Values that are usual. */
  readonly usual: string;
  /** Where these are from: a publication, or common practice. */
  readonly source: string;
}

const PRACTICE = 'common practice';

/** Of the figures that the screen shows. */
export const FIGURE_ADVICE: Readonly<Partial<Record<ShownKey, FigureAdvice>>> = {
  integratedLufs: {
    moves:
      'The level of everything, the loud sections most: below the mean less 10 LU nothing counts. Compression and limiting let it rise without higher peaks.',
    usual:
      'Broadcast: -23. Streaming turns songs to about -14, so louder gains nothing there. An unmastered mix: -24 to -16',
    source: `EBU R 128 (2020) for broadcast, else ${PRACTICE}`,
  },
  loudnessRangeLu: {
    moves:
      'Automation and arrangement, from quiet verse to loud chorus; compression of the whole mix narrows it, riding a path by section widens it.',
    usual: 'Dense songs 3 to 6, others 6 to 12, film and orchestra above 15',
    source: PRACTICE,
  },
  maxShortTermLufs: {
    moves: 'The loudest 3 s, mostly of the last chorus.',
    usual: '2 to 5 LU above the integrated loudness',
    source: PRACTICE,
  },
  truePeakDbtp: {
    moves: 'Transients of drums and whatever adds up at one moment; the trim moves it as a whole, a limiter cuts it.',
    usual: 'At most -1 in what is delivered; an unmastered mix has -6 to -3, so that mastering has room',
    source: `EBU R 128 (2020) for -1, else ${PRACTICE}`,
  },
  crestDb: {
    moves:
      'Sharp attacks raise it; compression, saturation and limiting lower it, parallel compression least of these.',
    usual: '14 to 20 unmastered, 8 to 12 in loud masters',
    source: PRACTICE,
  },
  plrDb: {
    moves: 'As crest, with loudness in place of level: it falls as a mix is made louder under the same peaks.',
    usual: '12 to 18 unmastered, 7 to 10 in loud masters',
    source: PRACTICE,
  },
  'stereo.correlation': {
    moves:
      'Pans, stereo reverb and wideners lower it, what stands in the middle raises it; below 0 much is lost in mono.',
    usual: '0.3 to 0.9; not below 0 for long',
    source: PRACTICE,
  },
  'stereo.sideToMidDb': {
    moves: 'Pans and width of single paths, and the level of wide paths against what stands in the middle.',
    usual: '-14 to -6; above -3 mono suffers',
    source: PRACTICE,
  },
  'stereo.balanceDb': {
    moves: 'What is panned to one side without a counterpart on the other.',
    usual: '-0.5 to 0.5 over a whole song',
    source: PRACTICE,
  },
  'stereo.monoLossLu': {
    moves: 'Short delays between the sides, inverted sides and wideners take it down: more is lost in mono.',
    usual: '0 to -1; below -2 parts of the mix vanish on one loudspeaker',
    source: PRACTICE,
  },
  maxMomentaryLufs: {
    moves: 'The loudest 0.4 s: a drum fill, the first beat of a chorus.',
    usual: '4 to 8 LU above the integrated loudness',
    source: PRACTICE,
  },
  samplePeakDbfs: {
    moves: 'As the true peak, which is above it by up to some dB where peaks fall between samples.',
    usual: 'At or little below the true peak',
    source: PRACTICE,
  },
  rmsDbfs: {
    moves: 'The level of everything, the lows most: they carry most of the power.',
    usual: '-24 to -18 unmastered, -14 to -8 in loud masters',
    source: PRACTICE,
  },
  dcOffset: {
    moves: 'Asymmetric distortion without a filter behind it, and faulty converters; a low cut takes it out.',
    usual: 'Between -0.0005 and 0.0005',
    source: PRACTICE,
  },
  clippedSamples: {
    moves: 'Levels over full scale in a file of whole numbers, or clipping before it.',
    usual: '0',
    source: PRACTICE,
  },
  clippedRuns: {
    moves: 'As clipped samples: each run is one clipped peak.',
    usual: '0',
    source: PRACTICE,
  },
  minPsrDb: {
    moves: 'The densest 3 s of the song: limiting and saturation take it down.',
    usual: 'Above 8; below 6 the chorus sounds flat',
    source: PRACTICE,
  },
  noiseFloorDbfs: {
    moves: 'Hiss and hum of tracks that are open where nobody plays, raised by compression; gates and edits lower it.',
    usual: 'Below -60 in a mix with quiet places',
    source: PRACTICE,
  },
  leadingSilenceSeconds: {
    moves: 'Where the song begins in the file.',
    usual: '0.05 to 0.5 in what is delivered, 0 or a whole bar in stems',
    source: PRACTICE,
  },
  trailingSilenceSeconds: {
    moves: 'Where the file ends behind the last reverb.',
    usual: '0.5 to 2 in what is delivered',
    source: PRACTICE,
  },
  minCorrelation: {
    moves: 'One wide moment: a stereo effect, a doubled part on both sides, a track with one side inverted.',
    usual: '-0.3 to 0.3; near -1 one side is inverted there',
    source: PRACTICE,
  },
  lowsCorrelation: {
    moves: 'Stereo effects and wideners that reach below 120 Hz; a high-pass of the side raises it.',
    usual: '0.8 to 1: lows in the middle',
    source: PRACTICE,
  },
  slopeDbPerOctave: {
    moves: 'Tone as a whole: shelves, bright buses and the balance of bass against cymbals.',
    usual: '-6 to -3 for dense music',
    source: PRACTICE,
  },
  onsetStrength: {
    moves: 'Drums and plucked notes raise it; compression with a quick attack, reverb and sustained parts lower it.',
    usual: 'No value is usual: compare with the rough',
    source: 'defined here',
  },
  onsetToSustainDb: {
    moves: 'As onset strength: a squeezed drum bus that brings up what lies between the strokes takes it down.',
    usual: 'No value is usual: compare with the rough',
    source: 'defined here',
  },
};
