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
export const RESTING: EngineState = { phase: 'empty', progress: 0, message: '' };

/** What has been rendered of a session. */
export interface Rendered {
  readonly plan: Plan;
  readonly paths: RenderedPaths;
  /** null: no track sounds. */
  readonly received: Sound | null;
  readonly rough: Sound | null;
}

/** Tells the main thread what there is: sounds by reference, and nothing twice that is large. */
export class Outbox {
  private found = NOTHING_FOUND;
  private readonly refs = new SoundRefs();
  private playedPaths: ReadonlyMap<string, SoundRef> = new Map();
  private toldMixBus: Plan['mixBus'] | null = null;
  private readonly toldFiles = new Map<string, Sound>();
  private readonly passOverviews = new WeakMap<Sound, { readonly seconds: number; readonly overview: Overview }>();

  constructor(
    readonly tell: (message: EngineMessage) => void,
    /** Number of the session as it is now. */
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

  /** Nothing of the last song stays. */
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

  /** Nothing of the last mix stays; the rough does. */
  forgetMix(): void {
    for (const side of ['received', 'mix'] as const) this.tell({ kind: 'overview', side, overview: null });
    this.find({ ...NOTHING_FOUND, rough: this.found.rough });
  }

  /** A mix bus is told where it has changed: its chain may work with long sounds. */
  mixBus(mixBus: Plan['mixBus']): void {
    if (this.toldMixBus && isSameMixBus(this.toldMixBus, mixBus)) return;
    this.toldMixBus = mixBus;
    this.tell({ kind: 'mix bus', mixBus, edition: this.edition() });
  }

  /** What can be heard from now on; `seconds` is the length of the song. */
  hearable(rendered: Rendered, seconds: number, isOvertaken: boolean): void {
    this.tell({ kind: 'hearable', hearable: this.toldOf(rendered), seconds, isOvertaken });
  }

  /** What can be heard while it is being rendered, and levels of its beginning. */
  growing(rendered: Rendered, seconds: number, levels: FirstLevels): void {
    this.tell({ kind: 'growing', hearable: this.toldOf(rendered), seconds, levels });
  }

  private toldOf({ plan, paths, received, rough }: Rendered): Hearable {
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

  /** What was told last of each path. */
  get played(): ReadonlyMap<string, SoundRef> {
    return this.playedPaths;
  }

  /** Numbers for what feeds live strips, until others do. */
  liveRefs(sounds: readonly Sound[]): readonly SoundRef[] {
    this.refs.put('live', sounds);
    return sounds.map((sound) => this.refs.of(sound));
  }

  /** A path runs live, or none; `note`: what a reader is to know. */
  live(path: string | null, note: string): void {
    this.view({ live: { path, note } });
  }

  /** A sound that was told of; null: it is gone. */
  sound(id: number): Sound | null {
    return this.refs.find(id);
  }

  /** The envelopes of these files, which processors work with; null: a file is not in hand. */
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
