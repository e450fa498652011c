import { framesOf, type Sound } from '../../audio/audio.ts';
import { base64Of } from '../../files/bytes/base64.ts';
import { mp3Of } from '../../files/mp3/mp3-write.ts';
import type { ReportSound } from '../../files/page/report-sound.ts';
import { withGain } from '../../files/print/print-level.ts';
import { loudnessOf, SHORT_TERM, shortTermPowers } from '../../measure/loudness/loudness.ts';
import { weightedEnergyOf } from '../../measure/loudness/weighted-energy.ts';
import { printedSteps } from '../../render/print.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import { partOfJob, stepped, type Job } from '../job.ts';
import type { Workshop } from '../workshop.ts';
import { receivedSound } from './received-sound.ts';

/** Length of the excerpt, s: long enough for a phrase, and the page stays small enough for mail. */
const HEARD_SECONDS = 20;
const KBPS = 192;

/** The excerpt of a sound around its loudest 3 s. */
const aroundTheLoudest = (sound: Sound): Frames => {
  const powers = shortTermPowers(weightedEnergyOf(sound));
  const loudest = powers.reduce((best, power, n) => (power > powers[best]! ? n : best), 0);
  const length = Math.min(framesOf(sound), HEARD_SECONDS * sound.sampleRate);
  const middle = Math.round(((loudest + SHORT_TERM / 2) / 100) * sound.sampleRate);
  const from = Math.max(0, Math.min(framesOf(sound) - length, middle - Math.round(length / 2)));
  return { from, to: from + length };
};

/**
 * An excerpt of the rough (or of the tracks as received) and of the mix, matched in loudness, as MP3: around the loudest 3 s of the mix.
 * null: there is no loudness to match (silence, or less than 0.4 s).
 */
export async function* reportSound(workshop: Workshop, frames: Frames | null): Job<ReportSound | null> {
  const { song, mix } = workshop;
  const whole = yield* stepped(printedSteps(mix.plan, mix.paths, song.room), 0, 0.3);
  const printed = excerptOf(whole, frames);
  const heard = aroundTheLoudest(printed);
  const before = yield* partOfJob(receivedSound(workshop, frames), 0.3, 0.7);
  const sides = [
    { name: before.name, sound: excerptOf(before.sound, heard) },
    { name: 'mix', sound: excerptOf(printed, heard) },
  ];
  const lufs = sides.map(({ sound }) => loudnessOf(weightedEnergyOf(sound)).integrated);
  const [first, second] = lufs;
  if (typeof first !== 'number' || typeof second !== 'number') return null;
  const matchedLufs = Math.min(first, second);
  const played = [];
  for (const [n, { name, sound }] of sides.entries()) {
    played.push({ name, mp3: base64Of(await mp3Of(withGain(sound, matchedLufs - lufs[n]!), KBPS)) });
    yield { part: 0.7 + 0.15 * (n + 1) };
  }
  const startsAtSeconds = ((frames?.from ?? 0) + heard.from) / printed.sampleRate;
  return { matchedLufs, kbps: KBPS, startsAtSeconds, seconds: (heard.to - heard.from) / printed.sampleRate, played };
}
