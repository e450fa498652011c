import { filter, highpass, lowpass } from './filters.ts';
import type { TrackFacts } from './facts.ts';
import { songFacts } from './facts.ts';
import { playBass } from './instruments/bass.ts';
import type { Guitarist } from './instruments/guitar.ts';
import { playGuitar } from './instruments/guitar.ts';
import { playKeys } from './instruments/keys.ts';
import type { Kit } from './instruments/kit.ts';
import { playHandPercussion, playKit } from './instruments/kit.ts';
import { playPad } from './instruments/pad.ts';
import { roomOf } from './instruments/room.ts';
import { singBacking, singLead } from './instruments/singers.ts';
import { leftBars, rightBars } from './score/guitar-patterns.ts';
import type { Signal } from './signal.ts';
import { fadeOut, levelTo, mixInto, silence } from './signal.ts';
import { frameAt } from './tempo.ts';

/** A recorded track: its facts and one or two channels. */
export interface Track {
  readonly facts: TrackFacts;
  readonly channels: readonly Signal[];
}

const leftPlayer: Guitarist = {
  name: 'left guitar',
  patterns: leftBars,
  voicing: (chord) => chord.low,
  pickupAt: 0.2,
  pickAt: 0.16,
  edgeHz: 5200,
  behindMs: 4,
  drive: 1.5,
  presenceHz: 2500,
};

const rightPlayer: Guitarist = {
  name: 'right guitar',
  patterns: rightBars,
  voicing: (chord) => chord.high,
  pickupAt: 0.11,
  pickAt: 0.12,
  edgeHz: 4400,
  behindMs: 7,
  drive: 2.6,
  presenceHz: 3100,
};

/** A close microphone hears its drum, and a little of a neighbour, late by the way there and without its deep end. */
const closeMicrophone = (own: Signal, neighbour: Signal, leak: number, metres: number): Signal => {
  const out = silence();
  const leaked = silence();
  mixInto(leaked, neighbour, leak, frameAt(metres / 343));
  filter(leaked, highpass(250), lowpass(7000));
  mixInto(out, own, 1);
  mixInto(out, leaked, 1);
  return out;
};

const drumTracks = (kit: Kit): Readonly<Record<string, readonly Signal[]>> => ({
  kick: [closeMicrophone(kit.kick, kit.snare, 0.02, 0.8)],
  snare: [closeMicrophone(kit.snare, kit.hats, 0.05, 0.45)],
  hats: [closeMicrophone(kit.hats, kit.snare, 0.05, 0.5)],
  toms: [kit.toms],
  cymbals: [kit.cymbals],
  room: roomOf(kit),
});

/** What microphones and inputs let through: no subsonic drift, little above 16 kHz (fourth order). */
const microphone = [highpass(18), lowpass(16000, 0.541), lowpass(16000, 1.307)];

/** Plays, sings and records the whole song: every track at its record level, faded with the last chord. */
export const recordTracks = (): Track[] => {
  const takes: Readonly<Record<string, readonly Signal[]>> = {
    ...drumTracks(playKit()),
    'hand-percussion': [playHandPercussion()],
    bass: [playBass()],
    keys: [playKeys()],
    pad: playPad(),
    'guitar-left': [playGuitar(leftPlayer)],
    'guitar-right': [playGuitar(rightPlayer)],
    lead: [singLead()],
    backing: singBacking(),
  };
  return songFacts.tracks.map((facts) => {
    const channels = takes[facts.id]!;
    channels.forEach((channel) => fadeOut(filter(channel, ...microphone), frameAt(0.5)));
    levelTo(channels, facts.peakDb);
    return { facts, channels };
  });
};
