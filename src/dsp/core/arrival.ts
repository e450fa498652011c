import { wetDryGains, type WetDry } from './wet-dry.ts';

/**
 * Delay and polarity that a processor or chain gives a sound by its settings, latency not counted: computed, not
 * measured.
 */
export interface Arrival {
  /** Delay, samples; null where there is no single delay: a reverb, moving copies, harmonics without their source. */
  readonly lagSamples: number | null;
  readonly polarity: 1 | -1;
}

/** No delay: filters shift phase, but do not count as a delay. */
export const AT_ONCE: Arrival = { lagSamples: 0, polarity: 1 };

/** Spread over time: no single delay. */
export const SPREAD: Arrival = { lagSamples: null, polarity: 1 };

/** New sound that is uncorrelated with the input, as harmonics without it: no delay either. */
export const MADE_ANEW: Arrival = { lagSamples: null, polarity: 1 };

/** Delay and polarity of two processors in series. */
const arrivalThrough = (first: Arrival, then: Arrival): Arrival => ({
  lagSamples: first.lagSamples === null || then.lagSamples === null ? null : first.lagSamples + then.lagSamples,
  polarity: first.polarity === then.polarity ? 1 : -1,
});

/** Delay and polarity of a mix of wet and dry sound: those of the louder one, of the dry one if equal. */
export const arrivalBeside = (wet: Arrival, shares: WetDry): Arrival => {
  const gains = wetDryGains(shares);
  return gains.wet > gains.dry ? wet : AT_ONCE;
};

/** Delay and polarity of a whole route, and what causes them. */
export interface WayArrival extends Arrival {
  /** Labels of the processors that make it late, spread or inverted, in order. */
  readonly by: readonly string[];
}

export const DIRECT: WayArrival = { ...AT_ONCE, by: [] };

/** Two routes in series. */
export const wayThrough = (first: WayArrival, then: WayArrival): WayArrival => ({
  ...arrivalThrough(first, then),
  by: [...first.by, ...then.by],
});

/**
 * Size of the delay for comparing routes, samples; inverted polarity counts as half a sample, sound spread over time as
 * less than none.
 */
const farness = ({ lagSamples, polarity }: Arrival): number =>
  lagSamples === null ? -1 : Math.abs(lagSamples) + (polarity === -1 ? 0.5 : 0);

/** Of several routes (at least one) the one with the largest delay: summed with the others it cancels most. */
export const farthest = <A extends Arrival>(ways: readonly A[]): A =>
  ways.reduce((far, way) => (farness(way) > farness(far) ? way : far));

export const isLike = (one: Arrival, other: Arrival): boolean =>
  one.lagSamples === other.lagSamples && one.polarity === other.polarity;

/** A route against another from the same start: the difference of their delays, and the processors that cause it. */
export const wayAgainst = (way: WayArrival, other: WayArrival): WayArrival =>
  wayThrough(other.lagSamples === null ? other : { ...other, lagSamples: -other.lagSamples }, way);

/** A group that feeds a bus, or whose tracks do, with the delay and polarity of the bus against the group. */
export interface Doubled extends WayArrival {
  readonly id: string;
}

/**
 * The groups that a path consists of, and the delay and polarity that its chains give them (latency is compensated by
 * the plan).
 */
export interface PathOrigin {
  /** The groups that a bus doubles, by themselves or by one of their tracks; none for a group. */
  readonly doubles: readonly Doubled[];
  /** Delay and polarity of a group’s tracks at its output. */
  readonly arrival: WayArrival;
}
