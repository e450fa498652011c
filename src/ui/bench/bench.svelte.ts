import type { Engine, EngineView, Findings, Heard, Overview } from '../engine/engine.ts';
import {
  endGesture,
  record,
  redo,
  redoLabel,
  startHistory,
  undo,
  undoLabel,
  type History,
} from '../../session/history.ts';
import type { Session } from '../../session/schema.ts';
import { messageOf } from '../shared/message.ts';
import { Listening } from './listening.svelte.ts';
import { Selection } from './selection.svelte.ts';

/** What the whole screen stands on: the session in hand with its history, what is selected, what is heard, what the engine says. */
export class Bench {
  readonly engine: Engine;
  readonly listening: Listening;
  readonly selection: Selection;
  readonly #stopListening: () => void;
  #view = $state.raw<EngineView>()!;
  #history = $state.raw<History | null>(null);
  #saved = $state.raw<Session | null>(null);
  #notice = $state.raw<string | null>(null);
  /** What was known when the session was last changed: whatever of it still stands has not been measured since. */
  #atEdit = $state.raw<Findings | null>(null);

  constructor(engine: Engine) {
    this.engine = engine;
    this.listening = new Listening(engine);
    this.selection = new Selection(() => this.session);
    this.#view = engine.view;
    this.#stopListening = engine.listen(() => (this.#view = engine.view));
  }

  get view(): EngineView {
    return this.#view;
  }
  get session(): Session | null {
    return this.#history?.present ?? null;
  }
  get undoLabel(): string | null {
    return this.#history && undoLabel(this.#history);
  }
  get redoLabel(): string | null {
    return this.#history && redoLabel(this.#history);
  }
  /** True when the session differs from what was last opened or saved. */
  get isChanged(): boolean {
    return this.session !== this.#saved;
  }
  /** The one sentence about what last went wrong; null when nothing did. */
  get notice(): string | null {
    return this.#notice;
  }

  /** True while the figures of the mix, printed or before the mix bus, are those from before the last edit. */
  isOld(stage: 'mix' | 'beforeMixBus'): boolean {
    const figures = this.#view.findings[stage];
    return figures !== null && figures === this.#atEdit?.[stage];
  }

  /** The same for what one path does. */
  isOldPath(id: string): boolean {
    const findings = this.#view.findings.paths.get(id);
    return findings !== undefined && findings === this.#atEdit?.paths.get(id);
  }

  say(sentence: string | null): void {
    this.#notice = sentence;
  }

  /** Runs what can fail: a problem becomes a notice, and whatever was in hand stays. True when it went well. */
  async attempt(work: () => Promise<unknown> | void): Promise<boolean> {
    try {
      await work();
      return true;
    } catch (error) {
      if (!(error instanceof DOMException && error.name === 'AbortError')) this.say(messageOf(error));
      return false;
    }
  }

  /**
   * One edit of the session. `label` is what undo calls it; moves that share a `gesture` are one step until `settle`.
   * An edit that would make the session wrong is refused with a notice. True when it was taken.
   */
  edit(label: string, edit: (session: Session) => Session, gesture: string | null = null): boolean {
    if (!this.#history) return false;
    try {
      this.#show(record(this.#history, edit(this.#history.present), label, gesture));
      return true;
    } catch (error) {
      this.say(messageOf(error));
      return false;
    }
  }

  /** The control was let go. */
  settle(): void {
    if (this.#history) this.#history = endGesture(this.#history);
  }

  undo(): void {
    if (this.#history) this.#show(undo(this.#history));
  }

  redo(): void {
    if (this.#history) this.#show(redo(this.#history));
  }

  /** Takes a session in hand in place of the last one; `saved` tells whether it stands in a file as it is. */
  take(session: Session, saved: boolean): void {
    this.#history = startHistory(session);
    this.#saved = saved ? session : null;
    this.#notice = null;
    this.#atEdit = null;
    this.selection.clear();
    this.listening.restart();
  }

  /** The session as it is now has been written to a file. */
  markSaved(): void {
    this.#saved = this.session;
  }

  /** The envelope of what is heard; asked again whenever the engine has something new. */
  overview(heard: Heard): Overview | null {
    return this.#view.audible.includes(heard) ? this.engine.overview(heard) : null;
  }

  dispose(): void {
    this.#stopListening();
    this.engine.dispose();
  }

  #show(history: History): void {
    const changed = history.present !== this.#history?.present;
    this.#history = history;
    if (!changed) return;
    this.#atEdit = this.#view.findings;
    this.engine.apply(history.present);
  }
}
