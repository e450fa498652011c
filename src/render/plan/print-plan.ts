import { chainLatency } from '../../dsp/core/chain.ts';
import { straight } from '../../dsp/core/gain-matrix.ts';
import type { MovingGains } from '../../dsp/core/moving-gains.ts';
import type { StripInput } from '../../dsp/core/strip.ts';
import { hashOfText, textOf } from '../content-hash.ts';
import type { Plan, PlanMixBus, PlanPath, PlanStrip } from './plan.ts';

/** Id of the one path of a print plan; no group or bus can have it. */
export const PRINT = 'mix';

/** How a path comes to the mix bus. Its strip is without its lines, as without its fader. */
const feedOf = (path: PlanPath, mixBus: PlanMixBus): Omit<StripInput, 'delay'> => {
  const [own, trim] = [path.moving, mixBus.moving];
  const still = (path.gain / (own?.reference ?? 1)) * (mixBus.trimGain / (trim?.reference ?? 1));
  if (!own && !trim) return { gains: straight(still) };
  const moving: MovingGains = {
    levels: [...(own?.levels ?? []), ...(trim?.levels ?? [])],
    switches: own?.switches ?? [],
  };
  return { gains: straight(still), moving };
};

/**
 * The plan whose only path is the printed mix: all paths that sound, at their gains, trimmed and run through the mix bus
 * chain, as one more strip. An executor then prints as it renders, with what the cache holds of the paths.
 */
export const printPlan = (plan: Plan): Plan => {
  const strips = new Map(plan.strips.map((strip) => [strip.id, strip]));
  const heard = plan.paths.filter(({ gain }) => gain !== 0);
  const feeding = heard.map(({ id }) => strips.get(id)!);
  const arrival = Math.max(0, ...feeding.map(({ latency }) => latency));
  const inputs = heard.map((path, n) => ({
    ...feedOf(path, plan.mixBus),
    delay: arrival - feeding[n]!.latency,
  }));
  const { steps } = plan.mixBus;
  const spec = { inputs, keyInputs: [], steps, arrival };
  const strip: PlanStrip = {
    id: PRINT,
    spec,
    from: heard.map(({ id }) => ({ kind: 'strip', id })),
    latency: arrival + chainLatency(steps, plan.sampleRate),
    key: hashOfText(textOf([plan.sampleRate, spec, feeding.map(({ key }) => key)])),
  };
  return { ...plan, strips: [...plan.strips, strip], paths: [{ id: PRINT, kind: 'bus', gain: 1 }] };
};

/** Names all that the printed mix depends on. */
export const printKey = (printed: Plan): string => `${printed.strips.at(-1)!.key}:${printed.frames}`;
