import { framesOf, type Audio } from '../audio/audio.ts';
import { resample } from '../audio/resample.ts';
import { measure } from '../measure/measure.ts';
import { ProblemError } from '../session/problem.ts';
import { channelChecks } from './checks/channel-checks.ts';
import { effectOf } from './checks/fix-effect.ts';
import { levelChecks } from './checks/level-checks.ts';
import { PairLikeness } from './checks/pair-checks.ts';
import { sampleChecks } from './checks/sample-checks.ts';
import {
  formatChecks,
  lengthChecks,
  offsetsOf,
  pairChecks,
  roughChecks,
  startChecks,
  type ReceivedFacts,
} from './checks/song-checks.ts';
import { spectrumChecks } from './checks/spectrum-checks.ts';
import type { Warning } from './checks/warning.ts';
import { bandCourseOf } from './guesses/band-course.ts';
import { sectionGuessesOf } from './guesses/sections.ts';
import { timeGuessOf } from './guesses/tempo.ts';
import { pairsAmong, fileNameParts } from './file-names.ts';
import { inMemory, opening, startOf, type Incoming } from './opened-file.ts';
import type { LeftAside, Received, ReceivedRough, ReceivedTrack } from './received.ts';
import { explainRough, type RoughExplained } from './rough/explain-rough.ts';
import { SketchBook, type SongSketch } from './rough/sketch-book.ts';

/** What is being done, and the part done, 0..1. */
export interface Progress {
  readonly what: string;
  readonly done: number;
}

const aboutFile = (
  audio: Audio,
): Pick<ReceivedTrack, 'sampleRate' | 'channels' | 'frames' | 'figures'> & { warnings: Warning[] } => {
  const figures = measure(audio);
  const own = sampleChecks(audio);
  const isSilent = own.some(({ code }) => code === 'silent');
  return {
    sampleRate: audio.sampleRate,
    channels: audio.channels.length,
    frames: framesOf(audio),
    figures,
    warnings: isSilent
      ? own
      : [...own, ...channelChecks(audio), ...spectrumChecks(audio), ...levelChecks(figures)].map((each) => ({
          ...each,
          effect: each.effect ?? effectOf(audio, each.fix),
        })),
  };
};

/** Where each file starts by its time reference, seconds after the first; null where not all have one. */
const startsByTime = async (files: readonly Incoming[]): Promise<readonly number[] | null> => {
  const starts: number[] = [];
  for (const file of files) {
    const start = await startOf(file);
    if (start === null) return null;
    starts.push(start);
  }
  return offsetsOf(starts);
};

/** A track, and whether it is silent. */
type Checked = Omit<ReceivedTrack, 'startSeconds'>;

const factsFor = (tracks: readonly Checked[], pairs: Received['pairs']): ReceivedFacts[] =>
  tracks.map(({ file, told, sampleRate, frames, facts, warnings }, n) => {
    const pair = pairs.findIndex(({ left, right }) => left === n || right === n);
    return {
      ...{ file, group: told.group, sampleRate, frames, facts },
      pair: pair < 0 ? null : pair,
      isSilent: warnings.some(({ code }) => code === 'silent'),
    };
  });

/**
 * Receives a song: reads and checks every track, holds them against each other, and explains the rough by them. One file
 * at a time is in memory, with what is kept of the others. A file that cannot be read is left aside with the reason.
 *
 * @throws ProblemError when no track can be read, or the rough cannot
 */
export async function* receive(
  tracks: readonly Incoming[],
  rough: Incoming | null,
): AsyncGenerator<Progress, Received> {
  if (rough) yield { what: `Reading ${rough.file}`, done: 0 };
  const mix = rough && (await checkedRough(rough));
  const aside: LeftAside[] = [];
  const checked: Checked[] = [];
  const readable: Incoming[] = [];
  const starts = await startsByTime(tracks).catch(() => null);
  let book: SketchBook | null = null;
  for (const [n, incoming] of tracks.entries()) {
    yield { what: `Reading ${incoming.file}`, done: (0.8 * n) / tracks.length };
    try {
      const { audio, facts } = await inMemory(incoming);
      const rate = (book ??= new SketchBook(mix?.sampleRate ?? audio.sampleRate)).sampleRate;
      book.add(resample(audio, rate), Math.round((starts?.[n] ?? 0) * rate));
      checked.push({ file: incoming.file, told: fileNameParts(incoming.file), facts, ...aboutFile(audio) });
      readable.push(incoming);
    } catch (error) {
      if (!(error instanceof ProblemError)) throw error;
      aside.push({ file: incoming.file, reason: error.message });
    }
  }
  if (!book) {
    const found = aside.map(({ reason }) => reason.replace(/\.$/, '')).join('; ') || 'none';
    throw new ProblemError({ code: 'mismatch', path: '', expected: 'at least one track that can be read', found });
  }
  const song = book.finish();
  const seconds = checked.map((track) => ({ ...track, seconds: track.frames / track.sampleRate }));
  const pairs = pairsAmong(seconds);
  const facts = factsFor(checked, pairs);
  yield { what: 'Comparing the tracks', done: 0.8 };
  const explained = rough && (yield* explaining(song, rough));
  const found = [
    formatChecks(facts),
    ...(starts ? [] : [lengthChecks(facts)]),
    startChecks(facts),
    pairChecks(facts, new PairLikeness(song.plan, song.sketches)),
    explained ? roughChecks(explained.tracks, song.plan.sampleRate) : [],
  ];
  return {
    tracks: checked.map((track, n) => ({
      ...track,
      startSeconds: starts?.[tracks.indexOf(readable[n]!)] ?? 0,
      warnings: onceEach([...track.warnings, ...found.flatMap((each) => each[n] ?? [])]),
    })),
    rough: mix && explained && { ...mix, explained, comparedAt: song.plan.sampleRate },
    pairs,
    aside,
    guesses: facts.every(({ isSilent }) => isSilent) ? { time: null, sections: [] } : guessesOf(song),
    isPlacedByTime: starts !== null,
  };
}

/** Tempo, downbeat and sections, guessed from the sum of the tracks. */
const guessesOf = ({ song, plan }: SongSketch): Received['guesses'] => {
  const course = bandCourseOf(song, plan.sampleRate);
  const time = timeGuessOf(course);
  return { time, sections: sectionGuessesOf(course, time) };
};

/** One warning of each kind: what the rough tells of polarity goes before what the group does. */
const onceEach = (warnings: readonly Warning[]): Warning[] => {
  const byCode = new Map<string, Warning>();
  for (const each of warnings) byCode.set(each.code, each);
  return [...byCode.values()];
};

/** Explains the rough, which is read once more for it. */
async function* explaining(song: SongSketch, rough: Incoming): AsyncGenerator<Progress, RoughExplained> {
  const opened = await opening(rough);
  try {
    const steps = explainRough(song, opened.sound);
    for (;;) {
      const next = steps.next();
      if (next.done) return next.value;
      yield { what: 'Explaining the rough by its tracks', done: 0.8 + 0.2 * next.value };
    }
  } finally {
    opened.close();
  }
}

/** What a rough tells by itself. */
const checkedRough = async (rough: Incoming): Promise<Omit<ReceivedRough, 'explained' | 'comparedAt'>> => {
  const { audio, facts } = await inMemory(rough);
  const { warnings, ...about } = aboutFile(audio);
  return {
    ...about,
    file: rough.file,
    facts,
    // The edges and the levels of a mix are its own business; so are walls and limits where it was mastered.
    warnings: warnings.filter(({ code }) =>
      ['silent', 'clipped', 'channel-missing', 'dc-offset', 'dropout', 'lossy', 'up-sampled'].includes(code),
    ),
  };
};
