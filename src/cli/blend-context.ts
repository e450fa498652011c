import { originsOf } from '../blend/guards/balance.ts';
import { GuardedBlend, type BenchPath, type BlendBench } from '../blend/solve/blend-bench.ts';
import { guardedFigures, receivedReferenceSteps, roughReference } from '../blend/guards/guard-references.ts';
import type { Guarded, GuardReference } from '../blend/guards/guards.ts';
import { buildSteps, withPathsSteps, type GramQuery } from '../blend/gram/make-blend-query.ts';
import { feedsOthers } from '../blend/sweep/feeds.ts';
import type { Measurement } from '../measure/figures.ts';
import { measureFully, type FullMeasurement } from '../measure/measure.ts';
import { framesOf, type Audio } from '../audio/audio.ts';
import { decibelsOf } from '../audio/decibels.ts';
import { finished } from '../audio/steps.ts';
import type { Plan } from '../render/plan.ts';
import { mainPrint } from '../render/print.ts';
import type { GuardInForce } from '../session/guard-set.ts';
import { described, listed, ProblemError } from '../session/problem.ts';
import type { Section, Session } from '../session/schema.ts';
import type { Console } from './console.ts';
import { framesOfSpan } from './named-span.ts';
import { SessionRenderer, type Rendered } from './render-session.ts';
import type { SessionOnDisk } from './session-on-disk.ts';

/** The section of this name; null where none is asked for. @throws ProblemError naming those that there are */
export const sectionNamed = (session: Session, path: string, name: string | undefined): Section | null => {
  if (name === undefined) return null;
  const found = session.sections.find((each) => each.name.toLowerCase() === name.trim().toLowerCase());
  if (found) return found;
  const names = session.sections.map((each) => each.name);
  const expected = names.length > 0 ? listed(names) : `a section, but ${path} has none`;
  throw new ProblemError({ code: 'unknown-name', path: '--section', expected, found: described(name) });
};

/** A sound within a section, which may begin before the sound does; the whole where there is no section. */
const within = (audio: Audio, section: Section | null, what: string, offsetSeconds = 0): Audio => {
  if (!section) return audio;
  const shifted = {
    name: section.name,
    startSeconds: Math.max(0, section.startSeconds - offsetSeconds),
    endSeconds: section.endSeconds - offsetSeconds,
  };
  const [from, to] = framesOfSpan(shifted, what, audio.sampleRate, framesOf(audio));
  return { sampleRate: audio.sampleRate, channels: audio.channels.map((channel) => channel.subarray(from, to)) };
};

/** Paths of a render within a section, until the last tail has died away. */
const benchPaths = (session: Session, { plan, paths }: Rendered, section: Section | null, file: string): BenchPath[] =>
  plan.paths.map(({ id, kind }) => {
    const { sampleRate, channels } = paths.get(id)!;
    const whole = { sampleRate, channels: channels.map((channel) => channel.subarray(0, plan.soundFrames)) };
    const name = [...session.groups, ...session.buses].find((path) => path.id === id)!.name;
    return { id, name, kind, audio: within(whole, section, file) };
  });

const gainsOfPlan = ({ paths }: Plan): number[] => paths.map(({ gain }) => gain);

/** A session rendered, with the query of its paths and all that its blends are held against. */
export interface BlendContext {
  readonly bench: BlendBench;
  readonly rendered: Rendered;
  readonly query: GramQuery;
}

/** The paths that do not sound as they did before. */
const changesOf = (paths: readonly BenchPath[], before: BlendContext): ReadonlyMap<number, Audio> =>
  new Map(
    paths.flatMap(({ audio }, n) => (isSameSound(audio, before.bench.paths[n]!.audio) ? [] : [[n, audio] as const])),
  );

/** Whether two sounds are views of the same samples. */
const isSameSound = (a: Audio, b: Audio): boolean =>
  a.channels.every((channel, c) => {
    const other = b.channels[c]!;
    return (
      channel.buffer === other.buffer && channel.byteOffset === other.byteOffset && channel.length === other.length
    );
  });

/** Renders sessions that differ in their mix alone, each with a bench; what they are held against is made once. */
export class BlendWorkshop {
  private references: readonly GuardReference[] | null = null;
  readonly renderer: SessionRenderer;

  constructor(
    private readonly disk: SessionOnDisk,
    private readonly path: string,
    private readonly section: Section | null,
    private readonly guards: readonly GuardInForce[],
    private readonly console: Console,
  ) {
    this.renderer = new SessionRenderer(disk, path, (done) => console.progress('Rendering', done));
  }

  /** The bench of this session: the one on disk, or the same with another mix. What is rendered is kept where others may follow. */
  async context(session: Session = this.disk.session): Promise<BlendContext> {
    const { buses } = this.disk.session;
    const mayFollow = buses.some(({ id }) => feedsOthers(session, id));
    return this.measured(
      session,
      await (mayFollow ? this.renderer.changed(session) : this.renderer.mix(session)),
      null,
    );
  }

  /** The bench of the session with other blends, after `before`: what does not hang on them is neither rendered nor measured again. */
  async withBlends(session: Session, before: BlendContext): Promise<BlendContext> {
    return this.measured(session, await this.renderer.withBlends(session, before.rendered), before);
  }

  private async measured(session: Session, rendered: Rendered, before: BlendContext | null): Promise<BlendContext> {
    const paths = benchPaths(session, rendered, this.section, this.path);
    const query = this.queryOf(paths, rendered, before);
    const only = (place: number): number[] => query.ids.map((_, n) => (n === place ? 1 : 0));
    const loudness = new Map(query.ids.map((id, n) => [id, query.essentials(only(n)).integratedLufs]));
    const { trimGain, steps } = rendered.plan.mixBus;
    const bench: BlendBench = {
      paths,
      query,
      gains: gainsOfPlan(rendered.plan),
      trimDb: steps.length > 0 ? null : decibelsOf(trimGain),
      origins: originsOf(session, loudness),
      guards: this.guards,
      references: await this.made(),
    };
    return { bench, rendered, query };
  }

  private queryOf(paths: readonly BenchPath[], { paths: sounds }: Rendered, before: BlendContext | null): GramQuery {
    // A blend that moved leaves at most what is below the threshold of printing at the end of a tail.
    if (before?.rendered.paths === sounds) return before.query;
    this.console.progress('Measuring');
    const steps =
      before && before.query.frames === framesOf(paths[0]!.audio)
        ? withPathsSteps(before.query, changesOf(paths, before))
        : buildSteps(paths);
    return finished(steps, (done) => this.console.progress('Measuring', done));
  }

  /** The print of a render within the section; its balance is that before the mix bus. */
  printed(context: BlendContext): { readonly figures: Measurement; readonly guarded: Guarded } {
    const { plan, paths } = context.rendered;
    const measured = measureFully(within(mainPrint(plan, paths), this.section, this.path));
    return { figures: measured.figures, guarded: this.guardedPrint(context, measured) };
  }

  /** A print of that render, measured elsewhere, as guards look at it. */
  guardedPrint({ bench }: BlendContext, { figures, details }: Omit<FullMeasurement, 'series'>): Guarded {
    return guardedFigures(figures, details, new GuardedBlend(bench, bench.gains).groupShares);
  }

  private async made(): Promise<readonly GuardReference[]> {
    this.references ??= [...this.rough(), await this.received()];
    return this.references;
  }

  private rough(): GuardReference[] {
    const { rough, session } = this.disk;
    if (!rough) return [];
    return [roughReference(within(rough, this.section, `${this.path}: rough.file`, session.rough?.offsetSeconds))];
  }

  private async received(): Promise<GuardReference> {
    const { session } = this.disk;
    const rendered = await this.renderer.received();
    const paths = benchPaths(session, rendered, this.section, this.path);
    return finished(receivedReferenceSteps(paths));
  }
}
