import type { Engine, EngineView, Findings, Heard, Overview } from '../../engine/engine.ts';
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
import { withHues } from '../../session/hues.ts';
import { sessionSchema, type Session } from '../../session/schema.ts';
import { soloable } from '../../session/solo.ts';
import { LedgerJob } from '../ledger/ledger-job.svelte.ts';
import { MeterReadings } from '../meters/meter-readings.ts';
import { ReceivedJob } from '../received/received-job.svelte.ts';
import { EachFrame } from '../shared/each-frame.ts';
import { messageOf } from '../../engine/message.ts';
import { Clipboard } from './clipboard.svelte.ts';
import { Drops } from './drop-mark.svelte.ts';
import { Listening } from './listening.svelte.ts';
import { hasSide } from './sides.ts';
import { Panels } from './panels.svelte.ts';
import { TwoSettings } from './two-settings.svelte.ts';
import { StripView } from './strip-view.svelte.ts';
import { Selection } from './selection.svelte.ts';
import { Parts } from './parts.svelte.ts';
import { Writing } from './writing.svelte.ts';

/** What was tried, as far as a later success makes an earlier notice of the same kind pass away. */
export type Kind = 'files' | 'places' | 'edits' | 'sound';

/** A preview: another mix that is shown, heard and measured until it is applied or discarded. */
interface Preview {
  readonly session: Session;
  /** What a step of it is called. */
  readonly label: string;
  /** The session that it was made from. */
  readonly from: Session;
  /** Each session since then, and the same with the preview: an edit made meanwhile is made in both. */
  readonly pairs: readonly (readonly [applied: Session, previewed: Session])[];
}

interface Notice {
  readonly kind: Kind;
  readonly sentence: string;
  /** Nothing went wrong: it is only told. */
  readonly calm: boolean;
  /** The session of which it is told, where one step back undoes that. */
  readonly undoes?: Session | null;
}

/** Why work was overtaken: a step of the session came between. */
export const CHANGED = 'the session was changed';

/** What the whole screen stands on: the current session with its history, what is selected, what is heard, what the engine says. */
export class Bench {
  readonly engine: Engine;
  readonly listening: Listening;
  readonly selection: Selection;
  readonly writing: Writing;
  readonly clipboard = new Clipboard();
  readonly panels = new Panels();
  readonly strip = new StripView(
    () => this.view.seconds,
    () => (this.session ? this.song.sampleRate : Infinity),
  );
  readonly twoSettings = new TwoSettings();
  readonly drops = new Drops();
  readonly meters: MeterReadings;
  readonly ledger: LedgerJob;
  readonly received: ReceivedJob;
  readonly #stopListening: () => void;
  /** The engine may have something new many times a frame. */
  readonly #nextLook = new EachFrame(() => this.#look());
  /** Ends with the next step of the session, whatever way. */
  #untilStep = new AbortController();
  #view = $state.raw<EngineView>()!;
  readonly #parts: Parts<EngineView>;
  readonly #song = new Parts<Session>(Object.keys(sessionSchema.shape) as (keyof Session)[]);
  #isOpen = $state(false);
  #history = $state.raw<History | null>(null);
  #preview = $state.raw<Preview | null>(null);
  #saved = $state.raw<Session | null>(null);
  #keptAs = $state.raw<string | null>(null);
  /** Why the session may not be changed here, as a sentence; null: it may. */
  #readOnly = $state.raw<string | null>(null);
  #notice = $state.raw<Notice | null>(null);
  #announced = $state.raw({ words: '' });
  #stopped = $state.raw(false);
  /** What was told of where sound is kept, and has been read. */
  #readStorage = $state.raw('');
  /** What was known when the session was last changed: whatever of it still stands has not been measured since. */
  #atEdit = $state.raw<Findings | null>(null);

  constructor(engine: Engine) {
    this.engine = engine;
    this.listening = new Listening(engine, () => (this.#atEdit = engine.view.findings));
    this.meters = new MeterReadings(engine);
    this.selection = new Selection(() => this.session);
    this.writing = new Writing(() => {
      this.listening.look();
      return this.listening.seconds;
    });
    this.ledger = new LedgerJob(
      engine,
      () => this.session,
      (words) => this.announce(words),
    );
    this.received = new ReceivedJob(engine, () => this.session);
    this.#parts = new Parts(Object.keys(engine.view) as (keyof EngineView)[]);
    this.#takeView();
    const stopListening = engine.listen(() => this.#nextLook.ask());
    this.#stopListening = () => {
      stopListening();
      this.#nextLook.drop();
    };
  }

  /** What the engine says. */
  get view(): EngineView {
    return this.#parts.whole;
  }
  get session(): Session | null {
    return this.#preview?.session ?? this.#history?.present ?? null;
  }
  /** True while a session is in hand. */
  get isOpen(): boolean {
    return this.#isOpen;
  }
  /**
   * The session in hand by its properties, for what is drawn of it: who reads one is told when this one changes. While none is in hand,
   * that of the last one.
   */
  get song(): Session {
    return this.#song.whole;
  }
  /** The session without what is previewed: what is saved. */
  get applied(): Session | null {
    return this.#history?.present ?? null;
  }
  /** The session with its steps; null when none is open. */
  get history(): History | null {
    return this.#history;
  }
  /** The name under which this session is kept on the device; another one for each that is opened. */
  get keptAs(): string | null {
    return this.#keptAs;
  }
  /** Why the session may not be changed here; null: it may. */
  get readOnly(): string | null {
    return this.#readOnly;
  }
  set readOnly(why: string | null) {
    if (why !== null) this.discardPreview();
    this.#readOnly = why;
  }
  /** What is previewed, in a few words; null when nothing is. */
  get previewLabel(): string | null {
    return this.#preview?.label ?? null;
  }
  get undoLabel(): string | null {
    if (this.#isUntouchedPreview) return `preview of ${this.#preview!.label}`;
    return this.#history && undoLabel(this.#history);
  }
  get redoLabel(): string | null {
    return this.#history && this.#canStep(redo(this.#history)) ? redoLabel(this.#history) : null;
  }
  /** True when the session differs from what was last opened or saved. */
  get isChanged(): boolean {
    return this.applied !== this.#saved;
  }
  /** The one sentence about what last went wrong, or is told; null when there is none. */
  get notice(): string | null {
    return this.#notice?.sentence ?? this.#storage;
  }
  get isNoticeCalm(): boolean {
    return this.#notice?.calm ?? true;
  }
  /** True where what the notice tells is what undo would take back. */
  get canUndoNotice(): boolean {
    const undoes = this.#notice?.undoes;
    return undoes !== undefined && undoes !== null && undoes === this.applied;
  }
  /** True when rendering was stopped by hand: what is heard and measured is from before the last change. */
  get isStopped(): boolean {
    return this.#stopped;
  }

  /** True while the figures of the mix, printed, before the mix bus or of the section in loop, are those from before the last edit. */
  isOld(stage: 'mix' | 'beforeMixBus' | 'section'): boolean {
    const figures = this.view.findings[stage];
    return figures !== null && figures === this.#atEdit?.[stage];
  }

  /** The same for what one path does. */
  isOldPath(id: string): boolean {
    const findings = this.view.findings.paths.get(id);
    return findings !== undefined && findings === this.#atEdit?.paths.get(id);
  }

  /** What was announced last; the same words announced again are another one. */
  get announced(): { readonly words: string } {
    return this.#announced;
  }

  /** Announces to screen readers what has come up on the screen. */
  announce(words: string): void {
    this.#announced = { words };
  }

  say(sentence: string, kind: Kind): void {
    this.#notice = { kind, sentence, calm: false };
  }

  /** Tells what is good to know, where nothing went wrong. */
  tell(sentence: string, kind: Kind): void {
    this.#notice = { kind, sentence, calm: true };
  }

  /** Tells what the last edit did beside what was asked for; the notice offers to undo it. */
  tellOfEdit(sentence: string): void {
    this.#notice = { kind: 'edits', sentence, calm: true, undoes: this.applied };
  }

  /** Aborted by the next edit, undo or redo, and when another session is opened: what is worked out of this one is then overtaken. */
  get untilStep(): AbortSignal {
    return this.#untilStep.signal;
  }

  /** True for a group or bus that was added since the session was opened. */
  isAdded(id: string): boolean {
    const opened = this.#history?.past[0]?.session ?? this.applied;
    return opened !== null && ![...opened.groups, ...opened.buses].some((path) => path.id === id);
  }

  /** The notice has been read. */
  dismissNotice(): void {
    if (this.#notice === null) this.#readStorage = this.#view.storage;
    this.#notice = null;
  }

  /**
   * Runs what can fail: a problem becomes a notice, and whatever was in hand stays. A success takes back the notice of
   * an earlier failure of its kind. True when it went well.
   */
  async attempt(kind: Kind, work: () => Promise<unknown> | void): Promise<boolean> {
    const before = this.#notice;
    try {
      await work();
      this.#takeBack(kind, before);
      return true;
    } catch (error) {
      if (!(error instanceof DOMException && error.name === 'AbortError')) this.say(messageOf(error), kind);
      return false;
    }
  }

  /** Stops what the engine loads or renders. */
  stop(): void {
    const { phase } = this.engine.view.state;
    this.engine.cancel();
    this.#stopped = phase === 'rendering';
  }

  /** Renders the session as it stands, after a stop or a failure. */
  renderNow(): void {
    if (!this.session) return;
    this.#stopped = false;
    this.engine.apply(this.session);
  }

  /**
   * One edit of the session. `label` is what undo calls it; moves that share a `gesture` are one step until `settle`.
   * While something is previewed, the edit is made in the session and in its preview, and is kept whether that is then
   * applied or discarded. An edit that would make either wrong is refused with a notice. True when it was taken.
   */
  edit(label: string, edit: (session: Session) => Session, gesture: string | null = null): boolean {
    if (!this.#history || !this.#mayChange()) return false;
    // What was written before is another step.
    if (this.writing.isAnother(gesture)) this.settle();
    try {
      const before = this.#history.present;
      const after = edit(before);
      const next = this.view.playing && !this.#preview ? this.writing.moved(before, after, label, gesture) : after;
      const history = record(this.#history, next, label, gesture);
      const shown = this.#preview && edit(this.#preview.session);
      this.#show(history, shown);
      // Work went on: what was said before is past, but for files, which are still to be seen to.
      if (this.#notice?.kind !== 'files') this.#notice = null;
      return true;
    } catch (error) {
      this.say(messageOf(error), 'edits');
      return false;
    }
  }

  /** Shows, sounds and measures the session as `edit` would make it, without applying it. `label` is what a step of it is called. */
  preview(label: string, edit: (session: Session) => Session): void {
    if (!this.#history || !this.#mayChange()) return;
    const from = this.#history.present;
    const session = edit(from);
    const before = this.session;
    this.#preview = session === from ? null : { session, label, from, pairs: [[from, session]] };
    this.#takeSong();
    if (this.session !== before) this.#sound();
  }

  /** Applies what is previewed, as one step. */
  applyPreview(): void {
    if (this.#history && this.#preview)
      this.#show(record(this.#history, this.#preview.session, this.#preview.label), null);
  }

  /** Back to the session as it is without the preview. */
  discardPreview(): void {
    if (!this.#preview) return;
    this.#preview = null;
    this.#takeSong();
    this.#sound();
  }

  /** The control was let go. */
  settle(): void {
    if (!this.#history) return;
    const written = this.writing.finish();
    if (written) {
      this.#show(record(this.#history, written.session, written.label, written.gesture), null);
      this.selection.showLine(written.target);
    }
    this.#history = endGesture(this.#history);
  }

  /** One step back; where nothing was edited since a preview began, back out of the preview. */
  undo(): void {
    if (this.#isUntouchedPreview) this.discardPreview();
    else this.#step(undo);
  }

  redo(): void {
    this.#step(redo);
  }

  /** Takes a session in hand in place of the last one; `saved` tells whether it stands in a file as it is. */
  take(session: Session, saved: boolean): void {
    const history = startHistory(withHues(session));
    this.resume(history, saved, crypto.randomUUID());
  }

  /** Takes up a session as it was left, with its steps; `keptAs`: the name under which it is kept. */
  resume(history: History, saved: boolean, keptAs: string): void {
    this.#history = history;
    this.#saved = saved ? history.present : null;
    this.#keptAs = keptAs;
    this.#readOnly = null;
    this.#begin();
  }

  /** Puts the session away: the bench is empty. */
  clear(): void {
    this.#history = null;
    this.#saved = null;
    this.#keptAs = null;
    this.#readOnly = null;
    this.#begin();
  }

  /** The session as it is now has been written to a file. */
  markSaved(): void {
    this.#saved = this.applied;
  }

  /** The envelope of what is heard; asked again whenever the engine has something new. */
  overview(heard: Heard): Overview | null {
    // Another one comes with a new view.
    return this.#view.audible.includes(heard) ? this.engine.overview(heard) : null;
  }

  /** The envelope of a file that a processor works with; asked again as `overview` is. */
  soundOverview(file: string): Overview | null {
    // What is missing comes in with a new view.
    void this.#view;
    return this.engine.soundOverview(file);
  }

  dispose(): void {
    this.#stopListening();
    this.engine.dispose();
  }

  #mayChange(): boolean {
    if (this.#readOnly !== null) this.say(this.#readOnly, 'edits');
    return this.#readOnly === null;
  }

  #overtake(why: string): void {
    this.#untilStep.abort(new DOMException(why, 'AbortError'));
    this.#untilStep = new AbortController();
  }

  #begin(): void {
    this.#overtake('another session was opened');
    this.#notice = null;
    this.#preview = null;
    this.#takeSong();
    this.#atEdit = null;
    this.#stopped = false;
    this.#nextLook.now();
    this.selection.clear();
    this.writing.clear();
    this.twoSettings.clear();
    this.selection.turnTo('paths');
    this.strip.show(null);
    this.ledger.clear();
    this.received.clear();
    this.listening.restart();
    const { session } = this;
    if (session) this.listening.keepOnly((heard) => hasSide(session, heard));
  }

  #takeSong(): void {
    const { session } = this;
    this.#isOpen = session !== null;
    if (session) this.#song.take(session);
  }

  #takeView(): void {
    this.#view = this.engine.view;
    this.#parts.take(this.#view);
  }

  #look(): void {
    this.#takeView();
    this.listening.follow();
    if (this.view.state.phase === 'rendering') this.#stopped = false;
  }

  get #storage(): string | null {
    const { storage } = this.view;
    return storage === '' || storage === this.#readStorage ? null : storage;
  }

  #takeBack(kind: Kind, notice: Notice | null): void {
    if (notice !== null && notice === this.#notice && notice.kind === kind) this.#notice = null;
  }

  get #isUntouchedPreview(): boolean {
    return this.#preview !== null && this.#preview.from === this.#history?.present;
  }

  /** While something is previewed, only steps between sessions that have their preview. */
  #canStep(history: History): boolean {
    return this.#preview === null || this.#previewOf(history.present) !== null;
  }

  #step(way: (history: History) => History): void {
    if (!this.#history || !this.#mayChange()) return;
    this.settle();
    const history = way(this.#history);
    if (this.#canStep(history)) this.#show(history, this.#previewOf(history.present));
  }

  #previewOf(session: Session): Session | null {
    return this.#preview?.pairs.findLast(([applied]) => applied === session)?.[1] ?? null;
  }

  /** `previewed`: the session with what is previewed; null: nothing is. */
  #show(history: History, previewed: Session | null): void {
    const before = this.session;
    const preview = this.#preview;
    if (history.present !== this.#history?.present) this.#overtake(CHANGED);
    this.#history = history;
    this.#preview =
      preview && previewed
        ? { ...preview, session: previewed, pairs: [...preview.pairs, [history.present, previewed]] }
        : null;
    this.#takeSong();
    if (this.session !== before) this.#sound();
  }

  #sound(): void {
    const session = this.session!;
    this.#atEdit = this.engine.view.findings;
    this.#stopped = false;
    this.engine.apply(session);
    this.#nextLook.now();
    this.listening.keepOnly((heard) => hasSide(session, heard));
    this.listening.keepSolo(soloable(session, this.listening.solo));
  }
}
