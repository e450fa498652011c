import type { StereoSound } from '../audio/audio.ts';
import { gainOf } from '../audio/decibels.ts';
import { channelMatrix, channelsIn } from '../dsp/core/channel-mode.ts';
import { inTurn, scaled, straight, type GainMatrix } from '../dsp/core/gain-matrix.ts';
import { panMatrix } from '../dsp/core/pan.ts';
import type { StripInput } from '../dsp/core/strip.ts';
import { pathOrder, ROUGH } from '../session/graph.ts';
import type { Bus, ChainItems, Group, Send, Session, Track } from '../session/schema.ts';
import { hashOfText, textOf } from './content-hash.ts';
import { preFader, type NodeRef, type Plan, type PlanSource, type PlanStrip } from './plan.ts';
import { faderGain, planPaths } from './plan-paths.ts';
import { preparedChain, type PreparedChain } from './prepared-chain.ts';

/** What the plan must know of a track's sound, already at the session's rate. */
export interface SourceFacts {
  readonly frames: number;
  readonly channels: number;
  /** Content hash of the samples. */
  readonly hash: string;
}

/** Tails are rendered to their end, but never longer than this, seconds. */
export const LONGEST_TAIL_SECONDS = 12;
/** Rendered lengths grow in steps of this, seconds. */
const TAIL_QUANTUM_SECONDS = 4;

/** A signal on its way into a strip. */
interface Feed {
  readonly ref: NodeRef;
  readonly gains: GainMatrix;
}

/** Where a track is taken from: behind its pan, or with its level alone, or as if its level were 0 dB. */
type Tap = 'pan' | 'level' | 'pre-fader';

/** Latency and end of a signal that is planned already. */
interface Signal {
  readonly latency: number;
  /** Frame of the song at which it ends, latency not counted. */
  readonly end: number;
  readonly key: string;
}

class Planner {
  readonly sources: PlanSource[] = [];
  readonly strips: PlanStrip[] = [];
  private readonly signals = new Map<string, Signal>();
  private readonly tracks: ReadonlyMap<string, Track>;

  constructor(
    private readonly session: Session,
    private readonly facts: ReadonlyMap<string, SourceFacts>,
    private readonly sounds: ReadonlyMap<string, StereoSound>,
  ) {
    this.tracks = new Map(session.tracks.map((track) => [track.id, track]));
  }

  /** A chain of the session, ready to run. */
  prepared(chain: ChainItems): PreparedChain {
    return preparedChain(chain, this.session, this.sounds);
  }

  /** The sound of a track or the rough; null where it is not in hand. */
  private source(id: string, offsetSeconds: number): NodeRef | null {
    const facts = this.facts.get(id);
    if (!facts) return null;
    const name = `source ${id}`;
    if (!this.signals.has(name)) {
      const startFrame = Math.round(offsetSeconds * this.session.sampleRate);
      this.sources.push({ id, startFrame });
      this.signals.set(name, { latency: 0, end: startFrame + facts.frames, key: `${facts.hash}@${startFrame}` });
    }
    return { kind: 'source', id };
  }

  /** A source as it is where it has no chain of its own, else the strip `id` that it becomes. */
  private strip(id: string, feed: Feed, chain: PreparedChain, key: string | null): Feed {
    if (chain.steps.length === 0) return feed;
    if (!this.signals.has(`strip ${id}`))
      this.addStrip(id, [feed], chain.listensToKey ? this.keyFeeds(key) : [], chain);
    return { ref: { kind: 'strip', id }, gains: straight(1) };
  }

  private trackFeed(track: Track, tap: Tap): Feed | null {
    const source = track.on ? this.source(track.id, track.offsetSeconds) : null;
    if (!source) return null;
    const level = tap === 'pre-fader' ? 1 : faderGain(track.gainDb);
    const id = tap === 'pre-fader' && level !== faderGain(track.gainDb) ? preFader(track.id) : track.id;
    const into = channelMatrix(track.channels, track.polarity);
    const channels = channelsIn(track.channels, this.facts.get(track.id)!.channels);
    const placed = (gain: number): GainMatrix =>
      panMatrix(tap === 'pan' ? track.pan : 0, channels, gain, this.session.panLaw);
    const chain = this.prepared(track.chain);
    if (chain.steps.length === 0) return { ref: source, gains: inTurn(into, placed(level)) };
    const { ref } = this.strip(id, { ref: source, gains: scaled(into, level) }, chain, track.key);
    return { ref, gains: placed(1) };
  }

  private roughFeed(): Feed | null {
    const { rough } = this.session;
    const source = rough && this.source(ROUGH, rough.offsetSeconds);
    return source && this.strip(ROUGH, { ref: source, gains: straight(1) }, this.prepared(rough.chain), null);
  }

  private keyFeeds(key: string | null): Feed[] {
    if (key === null) return [];
    const track = this.tracks.get(key);
    if (track) return [this.trackFeed(track, 'level')].filter((feed) => feed !== null);
    return this.signals.has(`strip ${key}`) ? [{ ref: { kind: 'strip', id: key }, gains: straight(1) }] : [];
  }

  private trackFeeds(group: Group): Feed[] {
    return this.session.tracks
      .filter((track) => track.group === group.id)
      .map((track) => this.trackFeed(track, 'pan'))
      .filter((feed) => feed !== null);
  }

  private sendFeeds(bus: Bus): Feed[] {
    const { rough, tracks, groups, buses } = this.session;
    const feeds = (sends: readonly Send[], feedAt: (send: Send) => Feed | null): Feed[] =>
      sends.flatMap((send) => {
        const feed = send.to === bus.id && send.on ? feedAt(send) : null;
        return feed ? [{ ref: feed.ref, gains: scaled(feed.gains, faderGain(send.levelDb)) }] : [];
      });
    const pathFeed = ({ id }: Group | Bus, { tap }: Send, faderDb: number): Feed => ({
      ref: { kind: 'strip', id },
      gains: straight(tap === 'post-fader' ? faderGain(faderDb) : 1),
    });
    return [
      ...groups
        .filter(({ on }) => on)
        .flatMap((path) => feeds(path.sends, (send) => pathFeed(path, send, path.faderDb))),
      ...buses
        .filter(({ on }) => on)
        .flatMap((path) => feeds(path.sends, (send) => pathFeed(path, send, path.blendDb))),
      ...tracks.flatMap((track) =>
        feeds(track.sends, ({ tap }) => this.trackFeed(track, tap === 'post-fader' ? 'pan' : 'pre-fader')),
      ),
      ...feeds(rough?.sends ?? [], () => this.roughFeed()),
    ];
  }

  /** Plans one group or bus; all that feeds it must be planned already. */
  addPath(id: string): void {
    const group = this.session.groups.find((path) => path.id === id);
    const bus = this.session.buses.find((path) => path.id === id);
    const path = group ?? bus;
    if (!path) return;
    const chain = this.prepared(path.chain);
    const feeds = [...(group ? this.trackFeeds(group) : []), ...(bus ? this.sendFeeds(bus) : [])];
    this.addStrip(id, feeds, chain.listensToKey ? this.keyFeeds(path.key) : [], chain);
  }

  private addStrip(id: string, feeds: readonly Feed[], keyFeeds: readonly Feed[], chain: PreparedChain): void {
    const { sampleRate } = this.session;
    const all = [...feeds, ...keyFeeds];
    const signals = all.map(({ ref }) => this.signals.get(`${ref.kind} ${ref.id}`)!);
    const arrival = Math.max(0, ...signals.map(({ latency }) => latency));
    const inputs = all.map(({ gains }, n): StripInput => ({ gains, delay: arrival - signals[n]!.latency }));
    const latency = arrival + chain.latency;
    const inputEnd = Math.max(0, ...signals.slice(0, feeds.length).map(({ end }) => end));
    const ways = {
      inputs: inputs.slice(0, feeds.length),
      keyInputs: inputs.slice(feeds.length),
      soundEnd: arrival + inputEnd,
    };
    const spec = { ...ways, steps: chain.steps };
    const key = hashOfText(textOf([sampleRate, ways, chain.text, signals.map((signal) => signal.key)]));
    this.strips.push({ id, spec, from: all.map(({ ref }) => ref), latency, key });
    this.signals.set(`strip ${id}`, { latency, end: inputEnd + chain.tail, key });
  }

  /** Frames until the last strip of a path has died away. */
  end(ids: readonly string[]): number {
    return Math.max(0, ...ids.map((id) => this.signals.get(`strip ${id}`)!.end));
  }

  sourceEnd(): number {
    return Math.max(0, ...this.sources.map(({ id }) => this.signals.get(`source ${id}`)!.end));
  }
}

/**
 * The plan of a valid session. Tracks whose sound is not in `facts` are left out, and so is the rough, which stands there as ROUGH; paths that are switched off are
 * planned with gain 0 (so that switching them on renders nothing), but feed no bus. `sounds` are what processors work with,
 * by file, at the session's rate; one that is not there is left out too.
 * Throws RangeError when the session holds a cycle: sessions are checked before they reach here.
 */
export const makePlan = (
  session: Session,
  facts: ReadonlyMap<string, SourceFacts>,
  sounds: ReadonlyMap<string, StereoSound> = new Map(),
): Plan => {
  const planner = new Planner(session, facts, sounds);
  for (const id of pathOrder(session)) planner.addPath(id);
  const paths = planPaths(session);
  const songFrames = planner.sourceEnd();
  const mixBus = planner.prepared(session.mixBus.chain);
  const wholeFrames = Math.max(songFrames, planner.end(paths.map(({ id }) => id))) + mixBus.tail;
  const longest = songFrames + LONGEST_TAIL_SECONDS * session.sampleRate;
  const soundFrames = Math.ceil(Math.min(longest, wholeFrames));
  const quantum = TAIL_QUANTUM_SECONDS * session.sampleRate;
  return {
    sampleRate: session.sampleRate,
    songFrames,
    soundFrames,
    tailCut: wholeFrames > longest,
    frames: songFrames + Math.ceil((soundFrames - songFrames) / quantum) * quantum,
    sources: planner.sources,
    strips: planner.strips,
    paths,
    mixBus: { trimGain: gainOf(session.mixBus.trimDb), steps: mixBus.steps },
  };
};

/** The session as it was received: tracks with their levels, places and groups, no chains, no buses, faders at 0 dB. */
export const asReceived = (session: Session): Session => ({
  ...session,
  rough: session.rough && { ...session.rough, chain: [], sends: [] },
  tracks: session.tracks.map((track) => ({ ...track, chain: [], key: null, sends: [] })),
  groups: session.groups.map((group) => ({ ...group, on: true, chain: [], key: null, faderDb: 0, sends: [] })),
  buses: [],
  mixBus: { trimDb: 0, chain: [] },
});
