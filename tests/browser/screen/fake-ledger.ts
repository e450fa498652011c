import { flowOver } from '../../../src/blend/ledger/flow.ts';
import type { LedgerRow } from '../../../src/blend/ledger/ledger.ts';
import { heardItems, type ProcessorRow } from '../../../src/blend/ledger/processor-rows.ts';
import { changeOf } from '../../../src/measure/change.ts';
import { isSplit } from '../../../src/session/chain/chain-items.ts';
import type { Session } from '../../../src/session/schema.ts';
import { feedersOf } from '../../../src/ui/bench/paths.ts';
import type { StretchLedger } from '../../../src/engine/questions.ts';
import { fakeFindings, fakeMeasurement } from './fake-figures.ts';

/** A ledger over a stretch; `lu` moves its figures, so that two stretches can be told apart. */
export const fakeLedger = (session: Session, lu: number): StretchLedger => {
  const { beforeMixBus, paths } = fakeFindings(session);
  const rows = [...paths].map(([id, { shareOfLoudness, without, change, flags, sentence }]): LedgerRow => ({
    ...{ id, shareOfLoudness, without, flags, sentence },
    change: { ...change, integratedLufs: change.integratedLufs! + lu },
    firstIn: { ...change, integratedLufs: change.integratedLufs! + lu + 0.7 },
    alignment: {
      lagSamples: null,
      polarity: 1,
      against: [],
      by: [],
      cancelsDb: -0.8,
      cancels: [{ hz: 900, db: -0.8 }],
    },
  }));
  const shares = new Map(rows.map(({ id, shareOfLoudness }) => [id, shareOfLoudness!]));
  const places = [
    ...session.tracks.map(({ id }) => ({ id, kind: 'source' as const, feeds: [] })),
    ...session.groups.map(({ id }) => ({
      ...{ id, kind: 'group' as const },
      feeds: session.tracks.filter(({ group }) => group === id).map((track) => ({ from: track.id, gain: 1 })),
    })),
    ...session.buses.map(({ id }) => ({
      ...{ id, kind: 'bus' as const },
      feeds: feedersOf(session, id).map((feeder) => ({ from: feeder.id, gain: 1 })),
    })),
  ];
  const energies = new Map(places.map(({ id }, n) => [id, 1 + (n % 4)]));
  return { mix: beforeMixBus!, paths: rows, flow: flowOver(places, energies, shares) };
};

export const fakeProcessors = (session: Session, path: string): ProcessorRow[] =>
  heardItems(session, path).map((item, n) => ({
    item: item.id,
    processor: isSplit(item) ? 'split' : item.processor,
    change: changeOf(fakeMeasurement(-19, -9), fakeMeasurement(-18.6 + n / 5, -8.8, 0.4)),
  }));
