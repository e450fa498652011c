import { secondsOf, type Sound } from '../../audio/audio.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { isSameMixBus, type Plan } from '../../render/plan/plan.ts';
import { NOTHING_FOUND } from '../empty-view.ts';
import type { EngineState, EngineView, Findings, Overview } from '../engine.ts';
import { overviewOf } from './overview.ts';
import type { PassPrints } from './pass-prints.ts';
import type { EngineMessage, FirstLevels, Hearable, SoundRef } from './protocol.ts';
import { SoundRefs } from './sound-refs.ts';

/** The state while there is no song, or none that can be rendered. */
export const IDLE_STATE: EngineState = { phase: 'empty', progress: 0, message: '' };

/** A rendered session. */
export interface Rendered {
  readonly plan: Plan;
  readonly paths: RenderedPaths;
  /** null: no track sounds. */
  readonly received: Sound | null;
  readonly rough: Sound | null;
}

/** Sends messages to the main thread: sounds by reference, and large data only once. */
export class Outbox {
  private found = NOTHING_FOUND;
  private readonly refs = new SoundRefs();
  private playedPaths: ReadonlyMap<string, SoundRef> = new Map();
  private toldMixBus: Plan['mixBus'] | null = null;
  private readonly toldFiles = new Map<string, Sound>();
  private readonly passOverviews = new WeakMap<Sound, { readonly seconds: number; readonly overview: Overview }>();

  constructor(
    readonly tell: (message: EngineMessage) => void,
    /** Edition of the current session. */
    private readonly edition: () => number,
  ) {}

  get findings(): Findings {
    return this.found;
  }

  view(change: Partial<Pick<EngineView, 'measuredPart' | 'seconds' | 'missing' | 'live'>>): void {
    this.tell({ kind: 'view', change });
  }

  state(state: EngineState): void {
    this.tell({ kind: 'view', change: { state } });
  }

  find(change: Partial<Findings>): void {
    this.found = { ...this.found, ...change };
    this.tell({ kind: 'findings', change });
  }

  /** Forgets the last song. */
  forget(): void {
    this.toldMixBus = null;
    this.refs.put('mix', []);
    this.refs.put('passes', []);
    this.refs.put('live', []);
    this.playedPaths = new Map();
    this.tell({ kind: 'nothing to hear' });
    this.find(NOTHING_FOUND);
    this.view({ seconds: 0 });
  }

  /** Forgets the last mix; keeps the rough. */
  forgetMix(): void {
    for (const side of ['received', 'mix'] as const) this.tell({ kind: 'overview', side, overview: null });
    this.find({ ...NOTHING_FOUND, rough: this.found.rough });
  }

  /** The mix bus is sent only where it has changed: its chain may include long sounds. */
  mixBus(mixBus: Plan['mixBus']): void {
    if (this.toldMixBus && isSameMixBus(this.toldMixBus, mixBus)) return;
    this.toldMixBus = mixBus;
    this.tell({ kind: 'mix bus', mixBus, edition: this.edition() });
  }

  /** Sounds that can be played from now on; `seconds` is the length of the song. */
  hearable(rendered: Rendered, seconds: number, isOvertaken: boolean): void {
    this.tell({ kind: 'hearable', hearable: this.reportingSteps(rendered), seconds, isOvertaken });
  }

  /** Sounds that can be played while they are being rendered, and levels of their beginning. */
  growing(rendered: Rendered, seconds: number, levels: FirstLevels): void {
    this.tell({ kind: 'growing', hearable: this.reportingSteps(rendered), seconds, levels });
  }

  private reportingSteps({ plan, paths, received, rough }: Rendered): Hearable {
    this.refs.put(
      'mix',
      [rough, received, ...paths.values()].filter((sound) => sound !== null),
    );
    this.playedPaths = this.refsOf(paths);
    return {
      sampleRate: plan.sampleRate,
      rough: rough && this.refs.of(rough),
      received: received && this.refs.of(received),
      paths: this.playedPaths,
    };
  }

  private refsOf(sounds: ReadonlyMap<string, Sound>): Map<string, SoundRef> {
    return new Map([...sounds].map(([id, sound]) => [id, this.refs.of(sound)]));
  }

  /** Last sent findings of each path. */
  get played(): ReadonlyMap<string, SoundRef> {
    return this.playedPaths;
  }

  /** Numbers of the sounds that feed live strips, valid until the next call. */
  liveRefs(sounds: readonly Sound[]): readonly SoundRef[] {
    this.refs.put('live', sounds);
    return sounds.map((sound) => this.refs.of(sound));
  }

  /** The path that runs live, or none; `note` is for the user. */
  live(path: string | null, note: string): void {
    this.view({ live: { path, note } });
  }

  /** A sound by its reference; null: it is gone. */
  sound(id: number): Sound | null {
    return this.refs.find(id);
  }

  /** The envelopes of these files, which processors use; null: a file is missing. */
  soundOverviews(files: ReadonlyMap<string, Sound>): void {
    for (const file of this.toldFiles.keys()) {
      if (files.has(file)) continue;
      this.toldFiles.delete(file);
      this.tell({ kind: 'sound overview', file, overview: null });
    }
    for (const [file, sound] of files) {
      if (this.toldFiles.get(file) === sound) continue;
      this.toldFiles.set(file, sound);
      this.tell({ kind: 'sound overview', file, overview: overviewOf(sound, secondsOf(sound)) });
    }
  }

  prints({ sounds, preparing, faults }: PassPrints, seconds: number): void {
    this.refs.put('passes', [...sounds.values()]);
    this.tell({
      kind: 'prints',
      prints: {
        sounds: this.refsOf(sounds),
        overviews: new Map([...sounds].map(([id, sound]) => [id, this.passOverview(sound, seconds)])),
        preparing: new Map(preparing),
        faults: new Map(faults),
      },
    });
  }

  private passOverview(sound: Sound, seconds: number): Overview {
    const known = this.passOverviews.get(sound);
    if (known?.seconds === seconds) return known.overview;
    const overview = overviewOf(sound, seconds);
    this.passOverviews.set(sound, { seconds, overview });
    return overview;
  }
}
