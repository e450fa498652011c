import { flushSync } from 'svelte';
import { expect, test } from 'vitest';
import { EMPTY_VIEW } from '../../../src/engine/empty-view.ts';
import type { EngineView } from '../../../src/engine/engine.ts';
import { ViewParts } from '../../../src/ui/bench/view-parts.svelte.ts';

test('who reads a part of the view is told when that changes, and of nothing else', () => {
  let view = $state.raw<EngineView>(EMPTY_VIEW);
  const parts = new ViewParts(() => view);
  const read: (keyof EngineView)[] = [];
  const keys = Object.keys(EMPTY_VIEW) as (keyof EngineView)[];
  const end = $effect.root(() => {
    for (const key of keys)
      $effect(() => {
        void parts[key];
        read.push(key);
      });
  });
  flushSync();
  expect(read).toEqual(keys);
  for (const key of keys) expect(parts[key]).toBe(view[key]);
  read.length = 0;
  for (let part = 1; part <= 3; part++) {
    view = { ...view, measuredPart: part / 10 };
    flushSync();
  }
  view = { ...view, playing: true };
  flushSync();
  expect(read).toEqual(['measuredPart', 'measuredPart', 'measuredPart', 'playing']);
  end();
});
