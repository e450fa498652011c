import type { StereoSound } from '../../audio/audio.ts';
import { channelsIn } from '../../dsp/core/channel-mode.ts';
import { inTurn, scaled, straight, type GainMatrix } from '../../dsp/core/gain-matrix.ts';
import { panMatrix } from '../../dsp/core/pan.ts';
import type { StripInput } from '../../dsp/core/strip.ts';
import { pathOrder, ROUGH } from '../../session/graph.ts';
import type { LineTarget } from '../../session/lines/line-schema.ts';
import { receivedLines, receivedPlace } from '../../session/received-balance.ts';
import type { MovedSetting } from '../../session/chain/moved-settings.ts';
import {
  CLOSED_DB,
  type Bus,
  type ChainItems,
  type Group,
  type Send,
  type Session,
  type Track,
} from '../../session/schema.ts';
import { hashOfText, textOf } from '../content-hash.ts';
import { behindLevel, isNeverOn, movesOf, stillGain, type FeedGains } from './feed-gains.ts';
import { preFader, type NodeRef, type Plan, type PlanSource, type PlanStrip } from './plan.ts';
import { planMixBus } from './plan-mix-bus.ts';
import { planPaths } from './plan-paths.ts';
import { PlannedLines } from './planned-lines.ts';
import { preparedChain, type PreparedChain } from './prepared-chain.ts';
import { channelParts } from './track-channels.ts';

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
interface Feed extends FeedGains {
  readonly ref: NodeRef;
  /** Samples by which it comes later than what it is taken from. */
  readonly late?: number;
}

/** Where a track is taken from: after its pan, or with its level alone, or as if its level were 0 dB. */
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
  readonly lines: PlannedLines;

  constructor(
    private readonly session: Session,
    private readonly facts: ReadonlyMap<string, SourceFacts>,
    private readonly sounds: ReadonlyMap<string, StereoSound>,
  ) {
    this.tracks = new Map(session.tracks.map((track) => [track.id, track]));
    this.lines = new PlannedLines(session);
  }

  /** A chain of the session, ready to run. */
  prepared(chain: ChainItems, owner: string): PreparedChain {
    return preparedChain(chain, this.session, this.sounds, this.lines.chain(owner));
  }

  private setting(of: string, what: LineTarget['what'], standing: number): MovedSetting {
    return this.lines.setting({ of, what }, standing);
  }

  /** The sound of a track or the rough; null where it is not in hand. */
  private source(id: string, startFrame: number): NodeRef | null {
    const facts = this.facts.get(id);
    if (!facts) return null;
    const name = `source ${id}`;
    if (!this.signals.has(name)) {
      this.sources.push({ id, startFrame, frames: facts.frames });
      this.signals.set(name, { latency: 0, end: startFrame + facts.frames, key: `${facts.hash}@${startFrame}` });
    }
    return { kind: 'source', id };
  }

  /** A source as it is where it has no chain of its own, else the strip `id` that it becomes. */
  private strip(id: string, feeds: readonly Feed[], chain: PreparedChain, key: string | null): readonly Feed[] {
    if (chain.steps.length === 0) return feeds;
    if (!this.signals.has(`strip ${id}`)) this.addStrip(id, feeds, chain.listensToKey ? this.keyFeeds(key) : [], chain);
    return [{ ref: { kind: 'strip', id }, gains: straight(1) }];
  }

  /** What a track gives: its strip, or its file, channel by channel where one of them starts later. */
  private trackFeed(track: Track, tap: Tap): readonly Feed[] {
    const on = this.setting(track.id, 'on', Number(track.on));
    const facts = this.facts.get(track.id);
    if (isNeverOn(on) || !facts) return [];
    const { start, parts } = channelParts(track, facts.channels, this.session.sampleRate);
    const source = this.source(track.id, start)!;
    const fader = this.setting(track.id, 'level', track.gainDb);
    const level = tap === 'pre-fader' ? { first: 0, line: null } : fader;
    const isOther = tap === 'pre-fader' && (fader.line !== null || stillGain(fader) !== 1);
    const id = isOther ? preFader(track.id) : track.id;
    const channels = channelsIn(track.channels, facts.channels);
    const pan = tap === 'pan' ? this.setting(track.id, 'pan', track.pan) : { first: 0, line: null };
    const { panLaw: law } = this.session;
    const placed = (gain: number): GainMatrix =>
      pan.line ? straight(gain) : panMatrix(pan.first, channels, gain, law);
    const panMoves = pan.line ? { line: pan.line, channels, law } : undefined;
    const chain = this.prepared(track.chain, track.id);
    if (chain.steps.length === 0) {
      return parts.map(({ gains, late }) => ({
        ...{ ref: source, late, gains: inTurn(gains, placed(stillGain(level))) },
        ...movesOf([level], [on], panMoves),
      }));
    }
    const feeds = parts.map(({ gains, late }) => ({
      ...{ ref: source, late, gains: scaled(gains, stillGain(level)) },
      ...movesOf([level], []),
    }));
    const after = this.strip(id, feeds, chain, track.key);
    return after.map(({ ref }) => ({ ref, gains: placed(1), ...movesOf([], [on], panMoves) }));
  }

  private roughFeed(): readonly Feed[] {
    const { rough } = this.session;
    const source = rough && this.source(ROUGH, Math.round(rough.offsetSeconds * this.session.sampleRate));
    if (!source) return [];
    return this.strip(ROUGH, [{ ref: source, gains: straight(1) }], this.prepared(rough.chain, ROUGH), null);
  }

  private keyFeeds(key: string | null): readonly Feed[] {
    if (key === null) return [];
    const track = this.tracks.get(key);
    if (track) return this.trackFeed(track, 'level');
    return this.signals.has(`strip ${key}`) ? [{ ref: { kind: 'strip', id: key }, gains: straight(1) }] : [];
  }

  private trackFeeds(group: Group): Feed[] {
    return this.session.tracks
      .filter((track) => track.group === group.id)
      .flatMap((track) => this.trackFeed(track, 'pan'));
  }

  private sendFeeds(bus: Bus): Feed[] {
    const { rough, tracks, groups, buses } = this.session;
    const feeds = (from: string, sends: readonly Send[], feedAt: (send: Send) => readonly Feed[]): Feed[] =>
      sends.flatMap((send) => (send.to === bus.id ? this.sent(from, send, feedAt) : []));
    const pathFeed = ({ id, on: isOn }: Group | Bus, { tap }: Send, faderDb: number): Feed[] => {
      const on = this.setting(id, 'on', Number(isOn));
      if (isNeverOn(on)) return [];
      const fader = tap === 'post-fader' ? this.setting(id, 'level', faderDb) : { first: 0, line: null };
      return [{ ref: { kind: 'strip', id }, gains: straight(stillGain(fader)), ...movesOf([fader], [on]) }];
    };
    return [
      ...groups.flatMap((path) => feeds(path.id, path.sends, (send) => pathFeed(path, send, path.faderDb))),
      ...buses.flatMap((path) => feeds(path.id, path.sends, (send) => pathFeed(path, send, path.blendDb))),
      ...tracks.flatMap((track) =>
        feeds(track.id, track.sends, ({ tap }) => this.trackFeed(track, tap === 'post-fader' ? 'pan' : 'pre-fader')),
      ),
      ...feeds(ROUGH, rough?.sends ?? [], () => this.roughFeed()),
    ];
  }

  /** What a send gives to its bus. A line of its level stands in for its switch too. */
  private sent(from: string, send: Send, feedAt: (send: Send) => readonly Feed[]): readonly Feed[] {
    const level = this.lines.setting({ of: from, what: 'send', to: send.to }, send.on ? send.levelDb : CLOSED_DB);
    if (!send.on && level.line === null && level.first <= CLOSED_DB) return [];
    return feedAt(send).map((feed) => behindLevel(feed, level));
  }

  /** Plans one group or bus; all that feeds it must be planned already. */
  addPath(id: string): void {
    const group = this.session.groups.find((path) => path.id === id);
    const bus = this.session.buses.find((path) => path.id === id);
    const path = group ?? bus;
    if (!path) return;
    const chain = this.prepared(path.chain, id);
    const feeds = [...(group ? this.trackFeeds(group) : []), ...(bus ? this.sendFeeds(bus) : [])];
    this.addStrip(id, feeds, chain.listensToKey ? this.keyFeeds(path.key) : [], chain);
  }

  private addStrip(id: string, feeds: readonly Feed[], keyFeeds: readonly Feed[], chain: PreparedChain): void {
    const { sampleRate } = this.session;
    const all = [...feeds, ...keyFeeds];
    const signals = all.map(({ ref }) => this.signals.get(`${ref.kind} ${ref.id}`)!);
    const arrival = Math.max(0, ...signals.map(({ latency }) => latency));
    const inputs = all.map(({ gains, moving }, n): StripInput => ({
      gains,
      ...(moving && { moving }),
      delay: arrival - signals[n]!.latency + (all[n]!.late ?? 0),
    }));
    const latency = arrival + chain.latency;
    const inputEnd = Math.max(0, ...feeds.map(({ late = 0 }, n) => signals[n]!.end + late));
    const ways = {
      inputs: inputs.slice(0, feeds.length),
      keyInputs: inputs.slice(feeds.length),
      arrival,
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
  const paths = planPaths(session, planner.lines);
  const songFrames = planner.sourceEnd();
  const { mixBus, tail } = planMixBus(session, planner.lines, sounds);
  const wholeFrames = Math.max(songFrames, planner.end(paths.map(({ id }) => id))) + tail;
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
    mixBus,
  };
};

/** A track as it was received: at its level and place in the received balance, whatever its own are. */
const trackAsReceived = (session: Session, track: Track): Track => {
  const { gainDb, pan } = receivedPlace(session, track.id);
  return { ...track, on: gainDb > CLOSED_DB, gainDb, pan, chain: [], key: null, sends: [] };
};

/** The session as it was received: tracks in the received balance and in their groups, no chains, no buses, faders at 0 dB. */
export const asReceived = (session: Session): Session => ({
  ...session,
  rough: session.rough && { ...session.rough, chain: [], sends: [] },
  tracks: session.tracks.map((track) => trackAsReceived(session, track)),
  groups: session.groups.map((group) => ({ ...group, on: true, chain: [], key: null, faderDb: 0, sends: [] })),
  buses: [],
  mixBus: { trimDb: 0, chain: [] },
  lines: receivedLines(session),
});
