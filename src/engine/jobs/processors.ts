import { withoutEach, type ProcessorRow } from '../../blend/ledger/processor-rows.ts';
import { fitted } from '../../blend/ledger/ledger.ts';
import { changeOf } from '../../measure/change.ts';
import type { Figures } from '../../measure/figures.ts';
import { measureSteps } from '../../measure/measure.ts';
import { gainsOf, summedPaths } from '../../render/mix.ts';
import { excerptOf, type Frames } from '../excerpt.ts';
import { partOfJob, stepped, type Job } from '../job.ts';
import type { ProcessorsQuestion } from '../questions.ts';
import type { Mix } from '../song.ts';
import type { Workshop } from '../workshop.ts';

type ProcessorsTask = Omit<ProcessorsQuestion, 'kind'>;

/** Figures of a mix before the mix bus, over some of its frames. */
function* sumFiguresSteps({ plan, paths }: Mix, frames: Frames): Generator<number, Figures> {
  const cut = new Map([...paths].map(([id, audio]) => [id, excerptOf(audio, frames)]));
  return yield* measureSteps(fitted(summedPaths(cut, gainsOf(plan)), frames.to - frames.from));
}

/**
 * The change that each active processor of a group or bus makes to the mix over a range: the mix is rendered and measured without each
 * in turn.
 * @throws Error with one clear sentence when the section begins after the end of the song
 */
export async function* processors(workshop: Workshop, { path, section }: ProcessorsTask): Job<readonly ProcessorRow[]> {
  const { song, mix } = workshop;
  const frames = workshop.stretch(section) ?? { from: 0, to: mix.plan.soundFrames };
  const until = workshop.renderedUntil(frames);
  const heard = withoutEach(mix.session, path);
  const rounds = heard.length + 1;
  const figures = yield* stepped(sumFiguresSteps(mix, frames), 0, 1 / rounds);
  const rows: ProcessorRow[] = [];
  for (const [n, { item, processor, without }] of heard.entries()) {
    const [from, middle, to] = [n + 1, n + 1.5, n + 2].map((round) => round / rounds) as [number, number, number];
    const rendered = yield* partOfJob(song.renderedAfter(without, mix, until), from, middle);
    const change = changeOf(yield* stepped(sumFiguresSteps(rendered, frames), middle, to), figures);
    rows.push({ item, processor, change });
  }
  return rows;
}
