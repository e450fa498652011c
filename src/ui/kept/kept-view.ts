import { z } from 'zod';
import type { Heard } from '../../engine/engine.ts';
import type { Bench } from '../bench/bench.svelte.ts';

const heard = z.custom<Heard>(
  (value) => typeof value === 'string' && /^(rough|received|mix|pass:.+|without:.+)$/.test(value),
);
const seconds = z.number().min(0);

/** What the screen showed of a session when it was left. Monitor level and mono are not kept: listening starts low, and as it is. */
const viewSchema = z.object({
  path: z.string().nullable(),
  item: z.string().nullable(),
  sheet: z.enum(['does', 'sweep']),
  page: z.enum(['paths', 'ledger', 'received', 'notes', 'sends']),
  slots: z.object({ a: heard, b: heard }),
  matching: z.boolean(),
  loop: z.object({ startSeconds: seconds, endSeconds: seconds }).nullable(),
  seconds,
});

type KeptView = z.infer<typeof viewSchema>;

/** What the screen shows now. */
export const viewOf = ({ selection, listening }: Bench, at: number): KeptView => ({
  path: selection.path,
  item: selection.item,
  sheet: selection.sheet,
  page: selection.page,
  slots: listening.slots,
  matching: listening.matching,
  loop: listening.loopRange,
  seconds: at,
});

/** Shows what was kept, as far as it can be read; the song is on the bench already. */
export const showView = ({ selection, listening }: Bench, kept: unknown): void => {
  const { data: view } = viewSchema.safeParse(kept);
  if (!view) return;
  if (view.path !== null) selection.select(view.path, view.item);
  selection.show(view.sheet);
  selection.turnTo(view.page);
  listening.resume(view.slots, view.matching, view.loop, view.seconds);
};
