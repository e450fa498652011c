import type { Sound } from '../../audio/audio.ts';
import type { PrintSource } from '../../files/print/print-parts.ts';
import { printedSteps, stemPrint, stemThroughSteps } from '../../render/print.ts';
import { pathNames } from '../../session/graph.ts';
import { ProblemError } from '../../session/problem.ts';
import type { Session } from '../../session/schema.ts';
import { partOfJob, stepped, type Job } from '../job.ts';
import type { Mix } from '../song.ts';
import type { Workshop } from '../workshop.ts';

/** Part of the work that is done once paths are rendered and the mix bus begins. */
const RENDERED = 0.8;

const nothing = (path: string, expected: string): ProblemError =>
  new ProblemError({ code: 'mismatch', path, expected, found: 'a silent one' });

/** The sounds of a print one after the other; strips that they share are rendered once. */
export class PrintSources {
  private last: Mix;

  constructor(private readonly workshop: Workshop) {
    this.last = workshop.mix;
  }

  /** @throws ProblemError where nothing sounds */
  async *sound(source: PrintSource): Job<Sound> {
    const { plan, paths } = yield* partOfJob(this.rendered(source.session), 0, RENDERED);
    const { room } = this.workshop.song;
    if (source.of === 'mix') return yield* stepped(printedSteps(plan, paths, room), RENDERED, 1);
    const { id, throughMixBus } = source;
    if (!plan.paths.some((path) => path.id === id && path.gain !== 0))
      throw nothing(`"${pathNames(source.session)(id)}"`, 'a group or bus that is on and not closed');
    return throughMixBus
      ? yield* stepped(stemThroughSteps(plan, paths, id, room), RENDERED, 1)
      : stemPrint(plan, paths, id);
  }

  private async *rendered(session: Session): Job<Mix> {
    const { song, mix } = this.workshop;
    if (session === mix.session) return mix;
    if (session === this.last.session) return this.last;
    if (song.planned(session).plan.frames === 0) throw nothing('What is printed', 'a mix with tracks that are on');
    return (this.last = yield* song.rendered(session));
  }
}
