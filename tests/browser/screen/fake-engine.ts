import type { MonitorCheck } from '../../../src/audition/monitor-check.ts';
import { FORM_ENDINGS } from '../../../src/files/print/file-form.ts';
import { nameOf } from '../../../src/files/print/print-names.ts';
import { commonFacts, isAsked, isMix, partsOf, targetNames } from '../../../src/files/print/print-parts.ts';
import type { PrintOrder } from '../../../src/files/print/print-order.ts';
import type { PrintedSong } from '../../../src/files/print/print-song.ts';
import { recallSheet } from '../../../src/files/report/recall-sheet.ts';
import { report } from '../../../src/files/report/report.ts';
import { planPaths } from '../../../src/render/plan/plan-paths.ts';
import { ProblemError } from '../../../src/session/problem.ts';
import type { Session } from '../../../src/session/schema.ts';
import type {
  AudioFileFacts,
  AudioFiles,
  Engine,
  EngineView,
  Heard,
  Meters,
  Overview,
  PrintOptions,
  Range,
} from '../../../src/engine/engine.ts';
import { EMPTY_VIEW, NOTHING_FOUND } from '../../../src/engine/empty-view.ts';
import { NOTHING_AUDIBLE } from '../../../src/engine/listening/listening-view.ts';
import type { AnswerTo, Question } from '../../../src/engine/questions.ts';
import { filesOf } from '../../../src/engine/files-of-session.ts';
import type { Received } from '../../../src/intake/received.ts';
import type { ReceivedFiles } from '../../../src/engine/received/received-files.ts';
import { fakeReceived } from './fake-received.ts';
import { fakeAnswer, fakeGuards } from './fake-answers.ts';
import { fakeFindings, fakeSection, fakeListening, fakeMeasurement } from './fake-figures.ts';

const SECONDS = 72;

/** The files of the mix and of stems that an order asks for: stems of what is not shut. */
const fakeFiles = (session: Session, order: PrintOrder, date: Date) => {
  const heard = planPaths(session)
    .filter(({ gain }) => gain > 0)
    .map(({ id }) => id);
  const { form = 'wav', names = null } = order;
  return partsOf(session, order, heard)
    .filter((part) => isAsked(part, order))
    .flatMap((part) =>
      (isMix(part) ? targetNames(order) : ['']).map((target) => {
        const facts = { ...commonFacts(session, order, date), kind: part.words, target, loudness: '-17.9 LUFS' };
        const told = { kind: part.kind, target: target === '' ? null : target };
        return { ...told, name: `${nameOf(names, facts)}${FORM_ENDINGS[form]}` };
      }),
    );
};

/** An engine without sound, for the screen's own tests: it keeps what it was told, and shows what a test asks for. */
export class FakeEngine implements Engine {
  view = EMPTY_VIEW;
  /** Everything that it was asked, in order. */
  readonly calls: (readonly [name: string, ...args: unknown[]])[] = [];
  readonly #listeners = new Set<() => void>();
  /** Who listens to meters: a test calls them with readings. */
  readonly meterListeners = new Set<(meters: Meters) => void>();
  readonly #held = new Set<string>();
  #seconds = 0;
  #session: Session | null = null;

  show(fields: Partial<EngineView>): void {
    this.view = { ...this.view, ...fields };
    this.#listeners.forEach((listener) => listener());
  }
  listen(listener: () => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  #range: Range | null = null;

  open(session: Session, files: AudioFiles): Promise<void> {
    for (const path of files.keys()) this.#held.add(path);
    this.#begin(session);
    return Promise.resolve();
  }
  #begin(session: Session): void {
    this.#session = session;
    const missing = filesOf(session).filter((path) => !this.#held.has(path));
    const ready = missing.length === 0;
    this.show({
      state: { phase: 'ready', progress: 1, message: '' },
      seconds: SECONDS,
      missing,
      ...(ready ? fakeListening(session) : NOTHING_AUDIBLE),
      findings: ready ? { ...fakeFindings(session), guards: fakeGuards } : NOTHING_FOUND,
      isMeasured: ready,
    });
  }
  addFiles(files: AudioFiles): Promise<readonly AudioFileFacts[]> {
    const bad = [...files.keys()].find((path) => path.includes('broken'));
    if (bad !== undefined)
      return Promise.reject(new ProblemError({ code: 'unreadable', path: bad, expected: 'a WAV file', found: 'text' }));
    for (const path of files.keys()) this.#held.add(path);
    // A song that waited for them is whole now.
    if (this.#session && this.view.missing.some((path) => files.has(path))) this.#begin(this.#session);
    return Promise.resolve(
      [...files.keys()].map((path) => {
        const sampleRate = path.includes('44k') ? 44_100 : 48_000;
        // Halls stand for impulse responses, which are short.
        return { path, seconds: path.includes('hall') ? 2 : SECONDS, sampleRate, channels: 2 };
      }),
    );
  }
  apply(session: Session): void {
    this.#session = session;
    this.calls.push(['apply', session]);
    this.show({
      state: { phase: 'ready', progress: 1, message: '' },
      findings: { ...fakeFindings(session), guards: fakeGuards, section: fakeSection(session, this.#range) },
    });
  }
  touch(path: string | null): void {
    this.calls.push(['touch', path]);
  }
  solo(ids: readonly string[]): void {
    this.calls.push(['solo', ids]);
  }
  cancel(): void {
    this.calls.push(['cancel']);
  }

  play(): Promise<void> {
    this.show({ playing: true });
    return Promise.resolve();
  }
  pause(): void {
    this.show({ playing: false });
  }
  listenToMeters(listener: (meters: Meters) => void): () => void {
    this.meterListeners.add(listener);
    return () => this.meterListeners.delete(listener);
  }
  /** Every third octave at -30 dB. */
  heardBands(): readonly number[] {
    return this.view.playing ? new Array<number>(30).fill(-30) : [];
  }
  seek(seconds: number): void {
    this.#seconds = seconds;
  }
  loop(range: Range | null): void {
    this.calls.push(['loop', range]);
    this.#range = range;
    const section = this.#session && fakeSection(this.#session, range);
    this.show({ findings: { ...this.view.findings, section } });
  }
  hear(heard: Heard, throughSilence = false): void {
    this.calls.push(throughSilence ? ['hear', heard, 'throughSilence'] : ['hear', heard]);
  }
  compare(sides: readonly Heard[]): void {
    this.calls.push(['compare', sides]);
  }
  match(on: boolean): void {
    this.calls.push(['match', on]);
  }
  monitor(levelDb: number): void {
    this.calls.push(['monitor', levelDb]);
  }
  check(check: MonitorCheck | null): void {
    this.calls.push(['check', check]);
  }
  position(): number {
    return this.#seconds;
  }

  ask<Q extends Question>(question: Q): Promise<AnswerTo<Q>> {
    this.calls.push(['ask', question]);
    return Promise.resolve(fakeAnswer(question, this.#session!) as AnswerTo<Q>);
  }

  receive(files: ReceivedFiles): Promise<Received> {
    this.calls.push(['receive', files]);
    return Promise.resolve(fakeReceived(files));
  }

  /** A second that falls by 60 dB. */
  soundOverview(): Overview {
    const max = Float32Array.from({ length: 100 }, (_, column) => 10 ** ((-60 * column) / 100 / 20));
    return { min: max.map((x) => -x), max, secondsPerColumn: 0.01 };
  }

  overview(heard: Heard): Overview {
    const columns = 1440;
    const size = (column: number): number => {
      const at = (column / columns) * SECONDS;
      const level = at < 10 ? 0.35 : at < 30 ? 0.55 : at < 40 ? 0.45 : at < 60 ? 0.85 : 0.4;
      const beat = Math.exp(-((at % 0.625) / 0.625) * 2);
      return (
        level *
        (heard === 'mix' ? 1 : 0.8) *
        (0.45 + 0.4 * beat + ((0.15 * Math.abs(Math.sin(column * 12.9898) * 43758.5453)) % 0.15))
      );
    };
    const max = Float32Array.from({ length: columns }, (_, column) => size(column));
    return { max, min: max.map((value) => -value * 0.92), secondsPerColumn: SECONDS / columns };
  }
  async print({ signal, onProgress, ...order }: PrintOptions): Promise<PrintedSong<Blob>> {
    this.calls.push(['print', order]);
    for (const part of [0.5, 1]) {
      signal?.throwIfAborted();
      onProgress?.(part);
      await Promise.resolve();
    }
    signal?.throwIfAborted();
    const session = this.#session!;
    const { title, sampleRate: own } = session;
    const { bits, rate } = order;
    const sampleRate = rate ?? own;
    const prints = fakeFiles(session, order, new Date(0)).map((print, i) => ({
      ...print,
      ...{ bits, sampleRate },
      content: new Blob(['RIFF']),
      figures: fakeMeasurement(-17.9 - i * 3, -8),
    }));
    const mix = fakeMeasurement(-17.9, -8);
    const notes = ['The level of the mix was not changed.'];
    const files = prints.map(({ name, kind, figures }) => ({ name, kind, bits, sampleRate, figures }));
    const levels = [{ target: null, gainDb: 0, met: true, note: notes[0]! }];
    const guards = { before: this.view.findings.guards ?? [], after: this.view.findings.guards ?? [] };
    const shortTermLufs = new Float64Array();
    const before = { name: 'rough as received', figures: fakeMeasurement(-20, -8), shortTermLufs };
    const after = { name: 'mix as printed', figures: mix, shortTermLufs };
    const told = {
      levelNotes: notes,
      guards,
      paths: [],
      flow: { nodes: [], links: [] },
      trials: [],
      sumPeakDbtp: -6,
      date: new Date(0),
      session,
    };
    const content = { title, files, before, after, ...told };
    const texts = {
      report: { name: `${title} - report.md`, content: report(content) },
      recallSheet: { name: `${title} - recall sheet.md`, content: recallSheet(session) },
      manifest: { name: `${title} - manifest.json`, content: '{}' },
    };
    return {
      ...{ prints, sampleRate, gainDb: 0, targetMet: true, levels, notes, mix, guards },
      ...{ ...texts, texts: Object.values(texts) },
    };
  }
  dispose(): void {
    this.#listeners.clear();
    this.calls.push(['dispose']);
  }
}
