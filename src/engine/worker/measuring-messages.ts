import type { MeasuringListener } from './measuring-listener.ts';
import type { Outbox } from './outbox.ts';
import { quickRow } from './quick-rows.ts';

/** Sends measurements to the main thread. */
export const measuringMessages = (
  outbox: Outbox,
  others: Pick<MeasuringListener, 'settled' | 'failed'>,
): MeasuringListener => ({
  ...others,
  measured: (side, measurement, overview) => {
    outbox.tell({ kind: 'overview', side, overview });
    outbox.find({ [side]: measurement });
  },
  mix: (mix, overview) => {
    outbox.tell({ kind: 'overview', side: 'mix', overview });
    outbox.find({ mix });
  },
  sum: (beforeMixBus) => outbox.find({ beforeMixBus }),
  rows: (rows, quick) => {
    const before = outbox.findings.paths;
    outbox.find({ paths: new Map(rows.map((row) => [row.id, quick ? quickRow(row, before.get(row.id)) : row])) });
  },
  section: (section) => outbox.find({ section }),
  guards: (guards) => outbox.find({ guards }),
  measuring: (measuredPart) => outbox.view({ measuredPart }),
  level: (level) => outbox.tell({ kind: 'level', level }),
});
