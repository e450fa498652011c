import type { Attachment } from 'svelte/attachments';
import { orderTrack } from '../../session/edits/order-edits.ts';
import type { Track } from '../../session/schema.ts';
import type { Bench } from '../bench/bench.svelte.ts';
import { namesOf, placeUnder, pointerDrag } from '../shared/pointer-drag.ts';

interface Target {
  readonly group: string;
  /** The track whose place it takes; null: the group as a whole. */
  readonly track: string | null;
}

const targetUnder = ({ session }: Bench, event: PointerEvent): Target | null => {
  const place = placeUnder(event, 'track') ?? placeUnder(event, 'row');
  const [group, track = null] = place ? namesOf(place) : [];
  return group !== undefined && session!.groups.some(({ id }) => id === group) ? { group, track } : null;
};

/** Drags a track by its grip: within its group it is reordered, on the row of another one it goes there (`regroup`). */
export const dragsTrack = (
  bench: Bench,
  track: Track,
  regroup: (track: Track, group: string) => void,
): Attachment<HTMLElement> =>
  pointerDrag({
    moves: (event) => {
      const target = targetUnder(bench, event);
      const group = bench.session!.groups.find(({ id }) => id === target?.group);
      bench.drops.mark =
        group && group.id !== track.group
          ? { path: group.id, side: 'on', at: [event.clientX, event.clientY], words: `Move to ${group.name}` }
          : null;
    },
    drops: (event) => {
      const target = targetUnder(bench, event);
      if (!target) return;
      if (target.group !== track.group) regroup(track, target.group);
      else if (target.track !== null && target.track !== track.id) {
        const to = bench
          .session!.tracks.filter(({ group }) => group === track.group)
          .findIndex(({ id }) => id === target.track);
        bench.edit(`move ${track.name}`, (session) => orderTrack(session, track.id, to));
      }
    },
    ends: () => (bench.drops.mark = null),
  });
