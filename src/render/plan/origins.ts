import {
  DIRECT,
  farthest,
  isLike,
  wayAgainst,
  wayThrough,
  type Doubled,
  type PathOrigin,
  type WayArrival,
} from '../../dsp/core/arrival.ts';
import { chainArrival } from '../../dsp/core/chain.ts';
import type { GainMatrix } from '../../dsp/core/gain-matrix.ts';
import { sourceOf, type NodeRef, type Plan, type PlanStrip } from './plan.ts';

const letsThrough = ({ leftToLeft, leftToRight, rightToLeft, rightToRight }: GainMatrix): boolean =>
  [leftToLeft, leftToRight, rightToLeft, rightToRight].some((gain) => gain !== 0);

class Origins {
  private readonly strips: ReadonlyMap<string, PlanStrip>;
  private readonly groups: readonly string[];
  /** The group that a track is in, by the track's source. */
  private readonly homes: ReadonlyMap<string, string>;
  private readonly buses: ReadonlySet<string>;
  /** Routes into the buses that were asked for: a bus that feeds others is asked for by each. */
  private readonly known = new Map<string, readonly Doubled[]>();

  constructor(private readonly plan: Plan) {
    this.strips = new Map(plan.strips.map((strip) => [strip.id, strip]));
    this.groups = plan.paths.filter(({ kind }) => kind === 'group').map(({ id }) => id);
    this.buses = new Set(plan.paths.filter(({ kind }) => kind === 'bus').map(({ id }) => id));
    this.homes = new Map(
      this.groups.flatMap((group) => {
        const { from, spec } = this.strips.get(group)!;
        return from.slice(0, spec.inputs.length).map(({ id }) => [sourceOf(id), group] as const);
      }),
    );
  }

  /** The groups that a bus doubles, each by the route with the largest delay. */
  doubles(bus: string): Doubled[] {
    const ways = this.waysInto(bus);
    return this.groups.flatMap((id) => {
      const its = ways.filter((way) => way.id === id);
      return its.length > 0 ? [farthest(its)] : [];
    });
  }

  /** Through the chains of a group's tracks, where these are alike, and its own. */
  arrival(group: string): WayArrival {
    const strip = this.strips.get(group)!;
    const tracks = strip.from.slice(0, strip.spec.inputs.length).map(({ kind, id }) => {
      const track = kind === 'strip' ? this.strips.get(id) : undefined;
      return track ? this.own(track) : DIRECT;
    });
    const [first = DIRECT] = tracks;
    return wayThrough(tracks.every((track) => isLike(track, first)) ? first : DIRECT, this.own(strip));
  }

  private own({ spec }: PlanStrip): WayArrival {
    return chainArrival(spec.steps, this.plan.sampleRate);
  }

  /** Of what feeds a bus directly, the groups that it is or is a track of, each with what the bus gets of it against the group. */
  private feedOf({ id }: NodeRef): readonly Doubled[] {
    if (this.groups.includes(id)) return [{ id, ...DIRECT }];
    if (this.buses.has(id)) return this.waysInto(id);
    const home = this.homes.get(sourceOf(id));
    return home === undefined ? [] : [{ id: home, ...wayAgainst(DIRECT, this.own(this.strips.get(home)!)) }];
  }

  /** All routes from groups and their tracks to the output of a bus; key inputs do not count. */
  private waysInto(bus: string): readonly Doubled[] {
    const ways = this.known.get(bus) ?? this.followed(bus);
    this.known.set(bus, ways);
    return ways;
  }

  private followed(bus: string): Doubled[] {
    const strip = this.strips.get(bus)!;
    const own = this.own(strip);
    return strip.spec.inputs.flatMap(({ gains }, n) => {
      if (!letsThrough(gains)) return [];
      return this.feedOf(strip.from[n]!).map((way) => ({ id: way.id, ...wayThrough(way, own) }));
    });
  }
}

/** What each path of a plan is made of, and when that comes out of it, by the ids of the paths. */
export const originsOf = (plan: Plan): ReadonlyMap<string, PathOrigin> => {
  const origins = new Origins(plan);
  return new Map(
    plan.paths.map(({ id, kind }) => [
      id,
      kind === 'bus'
        ? { doubles: origins.doubles(id), arrival: DIRECT }
        : { doubles: [], arrival: origins.arrival(id) },
    ]),
  );
};
