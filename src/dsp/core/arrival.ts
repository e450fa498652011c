import { wetDryGains, type WetDry } from './wet-dry.ts';

/** When and which way up a sound comes out of what it goes through, latency not counted: by design, not measured. */
export interface Arrival {
  /** Samples by which it is late; null where it comes spread over time: a reverberation, moving copies. */
  readonly lagSamples: number | null;
  readonly polarity: 1 | -1;
}

/** Filters and dynamics turn phase, but what they let through is not late. */
export const AT_ONCE: Arrival = { lagSamples: 0, polarity: 1 };

/** Spread over time: there is no one lag. */
export const SPREAD: Arrival = { lagSamples: null, polarity: 1 };

/** A sound through one thing and then another. */
export const arrivalThrough = (first: Arrival, then: Arrival): Arrival => ({
  lagSamples: first.lagSamples === null || then.lagSamples === null ? null : first.lagSamples + then.lagSamples,
  polarity: first.polarity === then.polarity ? 1 : -1,
});

/** What went through something beside the sound as it came in: the louder of the two tells, at a tie the latter. */
export const arrivalBeside = (wet: Arrival, shares: WetDry): Arrival => {
  const gains = wetDryGains(shares);
  return gains.wet > gains.dry ? wet : AT_ONCE;
};

/** How a whole way lets a sound through. */
export interface WayArrival extends Arrival {
  /** Labels of the processors that make it late, spread or inverted, in order. */
  readonly by: readonly string[];
}

export const DIRECT: WayArrival = { ...AT_ONCE, by: [] };

/** A way and then another. */
export const wayThrough = (first: WayArrival, then: WayArrival): WayArrival => ({
  ...arrivalThrough(first, then),
  by: [...first.by, ...then.by],
});

/** How far a way is from coming at once: what is spread over time is not late. */
const farness = ({ lagSamples, polarity }: Arrival): number =>
  lagSamples === null ? -1 : Math.abs(lagSamples) + (polarity === -1 ? 0.5 : 0);

/** Of several ways (one at least) that which lies farthest: where it meets the nearer ones it cancels most. */
export const farthest = <A extends Arrival>(ways: readonly A[]): A =>
  ways.reduce((far, way) => (farness(way) > farness(far) ? way : far));

export const isLike = (one: Arrival, other: Arrival): boolean =>
  one.lagSamples === other.lagSamples && one.polarity === other.polarity;

/** A group whose sound a bus is made of, and how that comes out of the bus beside the group itself. */
export interface Doubled extends WayArrival {
  readonly id: string;
}

/** What a path is made of, and how that comes out of it: by the design of its chains, as the plan keeps all else in step. */
export interface PathOrigin {
  /** The groups that a bus doubles; none for a group. */
  readonly doubles: readonly Doubled[];
  /** How a group lets its tracks through. */
  readonly arrival: WayArrival;
}
