import { framesOf, type Sound } from '../../audio/audio.ts';
import { sumPrint } from '../../render/print.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import { partOfJob, type Job } from '../job.ts';
import type { Workshop } from '../workshop.ts';

/** The sound that a mix is compared with over a range: the rough where it sounds there, else the tracks as received. */
export async function* receivedSound(
  { song, session }: Workshop,
  frames: Frames | null,
): Job<{ readonly name: string; readonly sound: Sound }> {
  const rough = song.roughOf(session);
  if (rough && framesOf(rough) > (frames?.from ?? 0))
    return { name: 'rough as received', sound: excerptOf(rough, frames) };
  const { plan, paths } = yield* partOfJob(song.received(session), 0, 1);
  return { name: 'tracks as received', sound: excerptOf(sumPrint(plan, paths), frames) };
}
