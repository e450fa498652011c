import { flushSync } from 'svelte';
import { expect, test } from 'vitest';
import { EMPTY_VIEW } from '../../../src/engine/empty-view.ts';
import type { EngineView } from '../../../src/engine/engine.ts';
import { Parts } from '../../../src/ui/bench/parts.svelte.ts';

test('who reads a property is told when that changes, and of nothing else', () => {
  const keys = Object.keys(EMPTY_VIEW) as (keyof EngineView)[];
  const parts = new Parts<EngineView>(keys);
  parts.take(EMPTY_VIEW);
  const read: (keyof EngineView)[] = [];
  const end = $effect.root(() => {
    for (const key of keys)
      $effect(() => {
        void parts.whole[key];
        read.push(key);
      });
  });
  flushSync();
  expect(read).toEqual(keys);
  for (const key of keys) expect(parts.whole[key]).toBe(EMPTY_VIEW[key]);
  read.length = 0;
  let view = EMPTY_VIEW;
  for (let part = 1; part <= 3; part++) {
    view = { ...view, measuredPart: part / 10 };
    parts.take(view);
    flushSync();
  }
  parts.take({ ...view, playing: true });
  flushSync();
  expect(read).toEqual(['measuredPart', 'measuredPart', 'measuredPart', 'playing']);
  end();
});
