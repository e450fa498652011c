import { bars, beatsPerBar, sampleRate, secondsAt, songFrames, tempoBpm } from './tempo.ts';

/** A part of the song between two bar lines, s from the start. */
export interface Section {
  readonly id: string;
  readonly name: string;
  readonly from: number;
  readonly to: number;
  /** How much is going on. */
  readonly density: 'sparse' | 'growing' | 'full';
}

/** What is known of one track, with its place in the rough mix. */
export interface TrackFacts {
  readonly id: string;
  readonly name: string;
  /** Path from `demo-audio`. */
  readonly file: string;
  readonly group: string;
  readonly channels: 1 | 2;
  /** Sample peak it was recorded at, dBFS. */
  readonly peakDb: number;
  /** Level in the rough, dB. */
  readonly gainDb: number;
  /** Place in the rough, -1 left .. +1 right; for a stereo track its balance. */
  readonly pan: number;
}

const section = (id: string, name: string, fromBar: number, toBar: number, density: Section['density']): Section => ({
  id,
  name,
  from: secondsAt(fromBar, 0),
  to: secondsAt(toBar, 0),
  density,
});

const track = (
  [id, name, group]: readonly [string, string, string],
  channels: 1 | 2,
  peakDb: number,
  gainDb: number,
  pan = 0,
): TrackFacts => ({ id, name, file: `tracks/${id}.flac`, group, channels, peakDb, gainDb, pan });

/** The facts of the demo song. */
export const songFacts = {
  title: 'Two Lanterns Upstream',
  artist: 'Heron Quarry',
  tempoBpm,
  beatsPerBar,
  beatUnit: 4,
  bars,
  sampleRate,
  frames: songFrames,
  seconds: songFrames / sampleRate,
  rough: 'rough.wav',
  sections: [
    section('verse', 'Verse', 0, 4, 'sparse'),
    section('lift', 'Lift', 4, 8, 'growing'),
    section('chorus', 'Chorus', 8, 16, 'full'),
  ],
  tracks: [
    track(['kick', 'Kick', 'drums'], 1, -5, -6),
    track(['snare', 'Snare', 'drums'], 1, -4, -4.5),
    track(['hats', 'Hats', 'drums'], 1, -10, -8, -0.2),
    track(['toms', 'Toms', 'drums'], 1, -6, -9, 0.15),
    track(['cymbals', 'Cymbals', 'drums'], 1, -8, -9, 0.1),
    track(['room', 'Room', 'drums'], 2, -11, -9),
    track(['hand-percussion', 'Shaker and tambourine', 'drums'], 1, -12, -8, 0.3),
    track(['bass', 'Bass', 'bass'], 1, -6, -7),
    track(['keys', 'Electric piano', 'keys'], 1, -9, -9, -0.15),
    track(['pad', 'Pad', 'keys'], 2, -12, -10),
    track(['guitar-left', 'Guitar left', 'guitars'], 1, -7, -12, -0.45),
    track(['guitar-right', 'Guitar right', 'guitars'], 1, -7, -12, 0.45),
    track(['lead', 'Lead vocal', 'lead'], 1, -5, -5),
    track(['backing', 'Backing vocals', 'backing'], 2, -11, -8),
  ],
} satisfies {
  readonly sections: readonly Section[];
  readonly tracks: readonly TrackFacts[];
  readonly [other: string]: unknown;
};
