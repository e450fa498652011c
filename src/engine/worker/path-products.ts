import { framesOf, placedSound, type Sound } from '../../audio/audio.ts';
import type { LedgerBasis, LedgerInput } from '../../blend/ledger/ledger.ts';
import type { PathOrigin } from '../../dsp/core/arrival.ts';
import type { RenderedPaths } from '../../render/executor.ts';
import { inSlices, reportingSteps } from '../slices.ts';
import { BandsClient } from './bands-client.ts';
import { BasisBuild } from './basis-build.ts';
import { receivedGroupsSteps, type ReceivedGroups } from './received-groups.ts';

const cuts = new WeakMap<Sound, Sound>();

/** The first `frames` of a sound: the same object as long as it is the same stretch of the same sound. */
const cut = (audio: Sound, frames: number): Sound => {
  const known = cuts.get(audio);
  if (known && framesOf(known) === frames) return known;
  const made = placedSound(audio, 0, Math.min(frames, framesOf(audio)));
  cuts.set(audio, made);
  return made;
};

/** The products of the newest paths, from which figures of their blends follow, and those of the groups as received. */
export class PathProducts {
  inputs: readonly LedgerInput[] = [];
  /** Basis of the newest paths, over the length of their blend; null while it is being built. */
  basis: LedgerBasis | null = null;
  receivedShares: ReadonlyMap<string, number> | null = null;
  private readonly bands = new BandsClient();
  /** The last basis; products of unchanged sounds are reused. */
  private earlier: LedgerBasis | null = null;
  private building: BasisBuild | null = null;
  /** The running measurement of the groups as received. */
  private receiving: Generator<number, ReceivedGroups> | null = null;
  /** Groups as received that hold the same sound as another. */
  private twins: LedgerBasis['twins'] = new Map();

  /** New paths. Products of unchanged sounds are reused. */
  paths(paths: RenderedPaths, origins: ReadonlyMap<string, PathOrigin>): void {
    this.inputs = [...paths].map(([id, audio]) => ({ id, audio, ...origins.get(id)! }));
    this.basis = null;
    this.building = null;
  }

  /** The groups as received, whose shares of the loudness are the reference of balance drift. */
  groups(groups: RenderedPaths): void {
    this.receivedShares = null;
    this.receiving = receivedGroupsSteps([...groups].map(([id, audio]) => ({ id, audio })));
  }

  /** Another song: nothing is reused. */
  forget(): void {
    this.receiving = this.receivedShares = null;
    this.earlier = null;
  }

  /** True while the groups as received are to be measured. */
  get isReceiving(): boolean {
    return this.receiving !== null;
  }

  get sounds(): RenderedPaths {
    return new Map(this.inputs.map(({ id, audio }) => [id, audio]));
  }

  /** The gain of each path, linear, in the order of the inputs. */
  ordered(gains: ReadonlyMap<string, number>): number[] {
    return this.inputs.map(({ id }) => gains.get(id) ?? 0);
  }

  /** Measures the groups as received if not done, or resumes it; reports the part done, 0..1. */
  async receive(isOver: () => boolean, onPart: (part: number) => void): Promise<void> {
    const { receiving } = this;
    if (!receiving) return;
    const found = await inSlices(reportingSteps(receiving, onPart), () => isOver() || this.receiving !== receiving);
    if (!found) return;
    this.receivedShares = found.shares;
    this.twins = found.twins;
    this.receiving = null;
    if (this.basis) this.basis = this.earlier = { ...this.basis, twins: this.twins };
  }

  /** Builds the basis over this many frames, or resumes it; reports the part done, 0..1. */
  async make(frames: number, isOver: () => boolean, onPart: (part: number) => void): Promise<void> {
    if (this.building?.frames !== frames) {
      const cutInputs = this.inputs.map((input) => ({ ...input, audio: cut(input.audio, frames) }));
      this.building = new BasisBuild(cutInputs, this.earlier, this.bands, frames);
    }
    const { building, inputs } = this;
    const query = await building.advance(isOver, onPart);
    // The paths may have changed while it was being built.
    if (!query || this.inputs !== inputs) return;
    this.basis = this.earlier = { inputs: building.inputs, received: [], query, twins: this.twins };
    this.building = null;
  }

  dispose(): void {
    this.bands.dispose();
  }
}
