import { faderGain } from '../../dsp/core/fader-gain.ts';
import { CURVES } from '../../dsp/core/line.ts';
import type { MovingLevel } from '../../dsp/core/moving-gains.ts';
import { valueOf } from '../../dsp/core/parameter.ts';
import { processorOf } from '../../dsp/core/registry.ts';
import { processorItems } from '../../session/chain/chain-items.ts';
import { ROUGH } from '../../session/graph.ts';
import { controlOf, isControl, MIX_BUS, targetText, type Control } from '../../session/lines/controls.ts';
import type { Line, LineTarget } from '../../session/lines/line-schema.ts';
import type { ChainLines, ItemLines, MovedSetting } from '../../session/chain/moved-settings.ts';
import type { ChainItems, Session } from '../../session/schema.ts';
import { TempoMap, type SongTempo, type TempoStep } from '../../session/tempo-map.ts';
import { valuesOf } from '../../session/values.ts';
import { hashOfText } from '../content-hash.ts';

/** What times of lines depend on. */
type Song = SongTempo & Pick<Session, 'sampleRate'>;

const isConstant = (values: Float64Array): boolean => values.every((value) => value === values[0]);

/** A line at a song's rate and tempo; values times `scale`. */
const movedBy = (
  { points, unit }: Line,
  { parameter }: Control,
  sampleRate: number,
  map: TempoMap,
  scale: number,
): MovedSetting => {
  const values = Float64Array.from(points, ({ value }) => valueOf(parameter, value) * scale);
  const seconds = (at: number): number => (unit === 'bars' ? map.secondsAt(at) : at);
  const frames = Float64Array.from(points, ({ at }) => seconds(at) * sampleRate);
  const curves = Uint8Array.from(points, ({ curve }) => CURVES.indexOf(curve));
  return prepared(frames, values, curves);
};

const timingOf = ({ sampleRate, tempo, meter, tempoChanges, meterChanges }: Song): string =>
  JSON.stringify([sampleRate, tempo, meter, tempoChanges, meterChanges]);

/** Points of a line at a song's rate. */
const prepared = (frames: Float64Array, values: Float64Array, curves: Uint8Array): MovedSetting => {
  if (isConstant(values)) return { first: values[0]!, line: null };
  const text = hashOfText(JSON.stringify([[...frames], [...values], [...curves]]));
  return { first: values[0]!, line: { text, frames, values, curves } };
};

/** All chains of a session, by their owners. */
export const chainsOf = ({ tracks, groups, buses, mixBus, rough }: Session): (readonly [string, ChainItems])[] => [
  ...[...tracks, ...groups, ...buses].map(({ id, chain }) => [id, chain] as const),
  [MIX_BUS, mixBus.chain],
  ...(rough ? [[ROUGH, rough.chain] as const] : []),
];

/** Lines are never changed, only replaced: of one that an edit left alone, nothing is worked out again. */
const known = new WeakMap<Line, { readonly timing: string; readonly moved: MovedSetting }>();

/** The lines of a mix that are on, ready to run. */
export class PlannedLines {
  private readonly byTarget = new Map<string, MovedSetting>();
  private readonly chains = new Map<string, Map<string, ItemLines>>();

  constructor(session: Session) {
    const map = new TempoMap(session);
    const timing = timingOf(session);
    for (const line of session.lines) {
      const control = controlOf(session, line.target);
      if (!line.on || !isControl(control)) continue;
      const before = known.get(line);
      const scale = line.target.what === 'mix' ? 0.01 : 1;
      const moved = before?.timing === timing ? before.moved : movedBy(line, control, session.sampleRate, map, scale);
      known.set(line, { timing, moved });
      this.byTarget.set(targetText(line.target), moved);
      this.addToChain(line.target, moved);
    }
    const { tempoChanges, meterChanges } = session;
    if (tempoChanges.length + meterChanges.length > 0) this.followTempo(session, map.steps);
  }

  /** Times that are note values follow the tempo, where no line of their own moves them: a new time where it changes. */
  private followTempo(session: Session, steps: readonly TempoStep[]): void {
    const frames = Float64Array.from(steps, ({ seconds }) => seconds * session.sampleRate);
    for (const [of, chain] of chainsOf(session))
      for (const item of processorItems(chain))
        for (const [parameter, setting] of Object.entries(item.settings)) {
          const target: LineTarget = { of, what: 'parameter', item: item.id, parameter };
          if (typeof setting !== 'string' || this.byTarget.has(targetText(target))) continue;
          if (processorOf(item.processor).parameters[parameter]?.kind !== 'number') continue;
          const values = Float64Array.from(steps, ({ tempo, meter }) => valuesOf(item, tempo, meter)[parameter]!);
          this.addToChain(target, prepared(frames, values, new Uint8Array(steps.length)));
        }
  }

  private addToChain({ of, what, item = '', parameter = '' }: LineTarget, moved: MovedSetting): void {
    if (what !== 'parameter' && what !== 'mix' && what !== 'bypass') return;
    const chain = this.chains.get(of) ?? new Map<string, ItemLines>();
    const lines = chain.get(item) ?? { parameters: new Map<string, MovedSetting>() };
    const parameters = what === 'parameter' ? new Map([...lines.parameters, [parameter, moved]]) : lines.parameters;
    chain.set(item, { ...lines, parameters, ...(what !== 'parameter' && { [what]: moved }) });
    this.chains.set(of, chain);
  }

  /** What a line makes of a setting; where there is none, the setting as it stands. */
  setting(target: LineTarget, standing: number): MovedSetting {
    return this.byTarget.get(targetText(target)) ?? { first: standing, line: null };
  }

  /** Lines of a chain, by its owner; undefined: there are none. */
  chain(owner: string): ChainLines | undefined {
    return this.chains.get(owner);
  }
}

/** Names the lines of a chain: equal text, equal lines. */
export const chainLinesText = (lines: ChainLines | undefined): string =>
  [...(lines ?? [])]
    .map(([item, { parameters, mix, bypass }]) => {
      const all = [...parameters, ['mix', mix] as const, ['bypass', bypass] as const];
      return [item, ...all.map(([name, moved]) => `${name} ${moved?.first} ${moved?.line?.text}`)].join(' ');
    })
    .join('\n');

/** Greatest value of a setting. */
const greatest = ({ first, line }: MovedSetting): number =>
  line ? line.values.reduce((a, b) => Math.max(a, b)) : first;

/** A level (dB) and a switch as one linear gain at its loudest, and what moves it. */
export const gainAndMoves = (
  level: MovedSetting,
  on: MovedSetting = { first: 1, line: null },
): { readonly gain: number; readonly moving?: MovingLevel } => {
  const gain = greatest(on) === 0 ? 0 : faderGain(greatest(level));
  if (gain === 0 || (!level.line && !on.line)) return { gain };
  const levels = level.line ? [level.line] : [];
  return { gain, moving: { levels, switches: on.line ? [on.line] : [], reference: level.line ? gain : 1 } };
};
