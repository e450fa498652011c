import type { Sound } from '../../audio/audio.ts';
import { guardedFigures } from '../../blend/guards/guard-references.ts';
import type { Guarded, GuardReference } from '../../blend/guards/guards.ts';
import type { SideFindings } from '../engine.ts';
import { inSlices } from '../slices.ts';
import type { MeasuringListener, Side } from './measuring-listener.ts';
import { overviewSteps } from './overview.ts';
import { sideFindingsSteps } from './side-findings.ts';

/** A side to measure. */
interface SideWork {
  readonly side: Side;
  readonly audio: Sound;
  /** The length that its overview covers, seconds. */
  readonly seconds: number;
}

/** References of blends: sides that are still to be measured, and figures of those that are. */
export class MeasuredSides {
  private readonly arrived = new Map<Side, SideWork>();
  /** The figures that guards read. */
  private readonly found: Record<Side, SideFindings | null> = { rough: null, received: null };

  constructor(private readonly listener: Pick<MeasuringListener, 'measured'>) {}

  take(side: Side, audio: Sound, seconds: number): void {
    this.arrived.set(side, { side, audio, seconds });
  }

  /** The side was removed. */
  without(side: Side): void {
    this.arrived.delete(side);
    this.found[side] = null;
  }

  forget(): void {
    this.without('rough');
    this.without('received');
  }

  /** True while some are to be measured. */
  get isOpen(): boolean {
    return this.arrived.size > 0;
  }

  /** Measures the first waiting side, and reports it. False: it was removed or replaced meanwhile. */
  async measureNext(): Promise<boolean> {
    const [work] = this.arrived.values();
    if (!work) return false;
    const { side, audio, seconds } = work;
    const isOver = (): boolean => this.arrived.get(side) !== work;
    const findings = await inSlices(sideFindingsSteps(audio), isOver);
    const overview = findings && (await inSlices(overviewSteps(audio, seconds), isOver));
    if (!overview) return false;
    this.found[side] = findings;
    this.arrived.delete(side);
    this.listener.measured(side, findings, overview);
    return true;
  }

  /** Those of `against` that are measured, over the whole song; `receivedShares`: of the groups as received. */
  references(against: readonly Side[], receivedShares: Guarded['groupShares']): GuardReference[] {
    const { rough, received } = this.found;
    const of = (side: SideFindings, shares: Guarded['groupShares']): Guarded =>
      guardedFigures(side, side.details, shares);
    return [
      ...(rough && against.includes('rough') ? [{ name: 'rough' as const, ...of(rough, null) }] : []),
      ...(received && against.includes('received')
        ? [{ name: 'mix as received' as const, ...of(received, receivedShares) }]
        : []),
    ];
  }
}
