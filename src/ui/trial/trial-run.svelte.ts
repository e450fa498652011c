import { presentationsOf, type Presentation } from '../../blend/trial/blind-trial.ts';
import type { Trial } from '../../session/schema.ts';
import { logTrial, type TrialPlan } from '../../session/passes/trials.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import { sideName } from '../bench/sides.ts';
import type { Heard, Range } from '../../engine/engine.ts';

/** What can be heard in a presentation: the two sides in hidden order, and in ABX the one that is to be told. */
export type Button = 'first' | 'second' | 'x';

/** One blind trial from its first sound to its last answer. Which side is behind which button stands nowhere but here. */
export class TrialRun {
  readonly plan: TrialPlan;
  readonly #bench: Bench;
  readonly #presentations: readonly Presentation[];
  readonly #loopBefore: Range | null;
  readonly #wasPlaying: boolean;
  #answers = $state.raw<Trial['answers']>([]);
  #heard = $state.raw<Button | null>(null);
  #tried = $state.raw<readonly Button[]>([]);
  #ended = $state.raw(false);
  #refused = $state.raw(false);

  constructor(bench: Bench, plan: TrialPlan) {
    this.#bench = bench;
    this.plan = plan;
    this.#presentations = presentationsOf(plan);
    this.#loopBefore = bench.listening.loopRange;
    this.#wasPlaying = bench.view.playing;
    const section = bench.session!.sections.find(({ name }) => name === plan.section);
    const { startSeconds = 0, endSeconds = bench.view.seconds } = section ?? {};
    bench.listening.beginBlind([plan.a as Heard, plan.b as Heard]);
    bench.listening.loop({ startSeconds, endSeconds: Math.min(endSeconds, bench.view.seconds) });
  }

  get answers(): Trial['answers'] {
    return this.#answers;
  }
  /** Number of the presentation at hand, from 1. */
  get number(): number {
    return Math.min(this.plan.planned, this.#answers.length + 1);
  }
  get heard(): Button | null {
    return this.#heard;
  }
  get isFinished(): boolean {
    return this.#answers.length === this.plan.planned;
  }
  /** True once it is over, finished or broken off. */
  get isOver(): boolean {
    return this.#ended;
  }
  get buttons(): readonly Button[] {
    return this.plan.kind === 'abx' ? ['first', 'second', 'x'] : ['first', 'second'];
  }
  /** True after an answer that was not taken, until what was left to be heard is heard. */
  get isRefused(): boolean {
    return this.#refused && !this.canAnswer;
  }
  /** What of the presentation has not been heard. */
  get unheard(): readonly Button[] {
    return this.buttons.filter((button) => !this.#tried.includes(button));
  }
  /** An answer counts only after everything in the presentation has been heard. */
  get canAnswer(): boolean {
    return this.isReady && this.unheard.length === 0;
  }

  /** True when both sides can be heard, at levels measured over the section. */
  get isReady(): boolean {
    const { audible, matchedLufs, comparison } = this.#bench.view;
    return (
      matchedLufs !== null &&
      this.#sides.every((side) => audible.includes(side) && !comparison.unsettled.has(side)) &&
      this.trouble === null
    );
  }

  /** Why it cannot be held; null when it can, or when that is not known yet. */
  get trouble(): string | null {
    const { levels, faults } = this.#bench.view.comparison;
    for (const side of this.#sides) {
      const fault = faults.get(side.replace(/^pass:/, ''));
      if (side.startsWith('pass:') && fault !== undefined) return fault;
      if (levels.get(side) === null)
        return `${sideName(this.#bench.session!, side)} has no loudness over this section (it is silent, or shorter than 0.4 s): choose another section.`;
    }
    return null;
  }

  get #sides(): readonly Heard[] {
    return [this.plan.a as Heard, this.plan.b as Heard];
  }

  /** Begins to play, with the first of the two. */
  async start(): Promise<void> {
    this.hear('first');
    this.#bench.listening.seek(this.#bench.listening.loopRange?.startSeconds ?? 0);
    if (!this.#bench.view.playing) await this.#bench.listening.toggle();
  }

  hear(button: Button): void {
    if (this.#ended || !this.isReady || !this.buttons.includes(button)) return;
    this.#heard = button;
    this.#tried = [...this.#tried, button];
    const slot = this.#slotBehind(button);
    this.#bench.listening.hearBlind(this.plan[slot] as Heard);
  }

  /** ABX: X is what is behind this button; preference: this one is preferred. */
  answer(button: 'first' | 'second'): void {
    if (this.#ended || !this.isReady) return;
    this.#refused = !this.canAnswer;
    if (this.#refused) return;
    const slot = this.#slotBehind(button);
    const { x } = this.#presentation;
    this.#answers = [...this.#answers, x === null ? slot : x === slot ? 'right' : 'wrong'];
    if (this.isFinished) {
      this.end();
      return;
    }
    this.#tried = [];
    this.hear('first');
  }

  /** Logs the trial as far as it went, and gives the ears back. */
  end(): void {
    if (this.#ended) return;
    this.#ended = true;
    this.#giveBack();
    this.#bench.edit('log a blind trial', (session) => logTrial(session, this.plan, this.#answers));
  }

  /** Leaves before the first sound: there is nothing to log. */
  leave(): void {
    if (this.#ended) return;
    this.#ended = true;
    this.#giveBack();
  }

  /** Listening is as it was before the trial: what was still is still again. */
  #giveBack(): void {
    const { listening, view } = this.#bench;
    listening.endBlind();
    listening.loop(this.#loopBefore);
    if (!this.#wasPlaying && view.playing) void listening.toggle();
  }

  get #presentation(): Presentation {
    return this.#presentations[this.number - 1]!;
  }

  #slotBehind(button: Button): 'a' | 'b' {
    const { first, x } = this.#presentation;
    if (button === 'x') return x!;
    const second = first === 'a' ? 'b' : 'a';
    return button === 'first' ? first : second;
  }
}
