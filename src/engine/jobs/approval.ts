import { secondsOf, type Sound } from '../../audio/audio.ts';
import type { Range } from '../../audio/range.ts';
import { base64Of } from '../../files/bytes/base64.ts';
import { mp3Of } from '../../files/mp3/mp3-write.ts';
import { approvalPage } from '../../files/page/approval-page.ts';
import { withGain } from '../../files/print/print-level.ts';
import { measureSteps } from '../../measure/measure.ts';
import { printedSteps } from '../../render/print.ts';
import { passOf, restorePass } from '../../session/passes/passes.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import { answerOf, partOfJob, stepped, callbackJob, type Job } from '../job.ts';
import type { ApprovalSide, ApprovalTask } from '../questions.ts';
import type { Workshop } from '../workshop.ts';

const nameOf = ({ session }: Workshop, side: ApprovalSide): string => {
  if (side === 'rough') return 'Rough mix';
  return side === 'mix' ? 'Current mix' : passOf(session, side.slice('pass:'.length)).name;
};

/** @throws Error where the session has no rough */
async function* soundOf(workshop: Workshop, side: ApprovalSide): Job<Sound> {
  const { song, session, mix } = workshop;
  if (side === 'rough') {
    const rough = song.roughOf(session);
    if (!rough) throw new Error('There is no rough mix in this session: leave it out.');
    return rough;
  }
  const of =
    side === 'mix' ? mix : yield* partOfJob(song.rendered(restorePass(session, side.slice('pass:'.length))), 0, 0.7);
  return yield* stepped(printedSteps(of.plan, of.paths, song.room), 0.7, 1);
}

/** One version over the range. */
interface Version {
  readonly id: ApprovalSide;
  readonly name: string;
  readonly sound: Sound;
  readonly lufs: number;
}

/** @throws Error where there is no loudness to match */
async function* versionOf(workshop: Workshop, side: ApprovalSide, frames: Frames | null): Job<Version> {
  const sound = excerptOf(yield* partOfJob(soundOf(workshop, side), 0, 0.8), frames);
  const { integratedLufs } = yield* stepped(measureSteps(sound), 0.8, 1);
  const name = nameOf(workshop, side);
  if (integratedLufs === null)
    throw new Error(`${name} has no loudness there (it is silent, or shorter than 0.4 s): choose another section.`);
  return { id: side, name, sound, lufs: integratedLufs };
}

/** Sections within the range, with times from its beginning. */
const sectionsIn = ({ session }: Workshop, section: Range | null, seconds: number) =>
  session.sections.flatMap(({ name, startSeconds, endSeconds }) => {
    const from = Math.max(0, startSeconds - (section?.startSeconds ?? 0));
    const to = Math.min(seconds, endSeconds - (section?.startSeconds ?? 0));
    return to - from >= 1 ? [{ name, startSeconds: from, endSeconds: to }] : [];
  });

/** Part of the work that is done once all versions are rendered and measured. */
const MEASURED = 0.7;

/**
 * A page for approval, as HTML: versions of the song, turned down to the quietest of them, each as MP3.
 * @throws Error with one clear sentence where a version is missing, or has no loudness
 */
export const approval = (workshop: Workshop, { sides, section, isBlind, kbps }: ApprovalTask): Job<string> =>
  callbackJob(async ({ tell, turn, signal }) => {
    const frames = workshop.stretch(section);
    const versions: Version[] = [];
    for (const [n, side] of sides.entries()) {
      const onProgress = (part: number): void => tell((MEASURED * (n + part)) / sides.length);
      versions.push(await answerOf(versionOf(workshop, side, frames), { onProgress, pace: turn, signal }));
    }
    const matchedLufs = Math.min(...versions.map(({ lufs }) => lufs));
    const played: { id: string; name: string; sound: string }[] = [];
    for (const [n, { id, name, sound, lufs }] of versions.entries()) {
      const pace = (part: number): Promise<void> => {
        tell(MEASURED + ((1 - MEASURED) * (n + part)) / versions.length);
        return turn();
      };
      played.push({ id, name, sound: base64Of(await mp3Of(withGain(sound, matchedLufs - lufs), kbps, pace)) });
    }
    const { title, artist } = workshop.session;
    const seconds = Math.max(...versions.map(({ sound }) => secondsOf(sound)));
    const sections = sectionsIn(workshop, section, seconds);
    const startsAtSeconds = section?.startSeconds ?? 0;
    const part = section?.name ?? null;
    return approvalPage({ title, artist, part, isBlind, matchedLufs, startsAtSeconds, sections, versions: played });
  });
