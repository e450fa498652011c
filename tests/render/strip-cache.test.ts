import { describe, expect, it } from 'vitest';
import { StripCache, type StripSound } from '../../src/render/strip-cache.ts';

/** 80 bytes. */
const strip = (): StripSound => ({ left: new Float32Array(10), right: new Float32Array(10) });

describe('rendered strips', () => {
  it('stay as long as they are in hand, whatever the budget', () => {
    const cache = new StripCache(0);
    cache.keep(new Set(['a', 'b']));
    cache.set('a', strip());
    cache.set('b', strip());
    expect([...'ab'].map((key) => cache.get(key) !== undefined)).toEqual([true, true]);
    expect(cache.bytes).toEqual({ inHand: 160, spare: 0 });
  });

  it('that were replaced are let go beyond the budget, those used longest ago first', () => {
    const cache = new StripCache(160);
    for (const key of 'abc') {
      cache.keep(new Set([key]));
      cache.set(key, strip());
    }
    cache.get('a');
    cache.keep(new Set(['d']));
    expect([...'abc'].map((key) => cache.get(key) !== undefined)).toEqual([true, false, true]);
  });

  it('never add up to more than the budget beside what is in hand, however many replace each other', () => {
    const cache = new StripCache(400);
    for (let n = 0; n < 100; n++) {
      cache.keep(new Set(['group', `bus ${n}`]));
      cache.set('group', strip());
      cache.set(`bus ${n}`, strip());
      expect(cache.bytes.inHand).toBe(160);
      expect(cache.bytes.spare).toBeLessThanOrEqual(400);
    }
    expect(cache.get('bus 95')).toBeDefined();
    expect(cache.get('bus 90')).toBeUndefined();
  });

  it('that nobody has named in hand are found once at least', () => {
    const cache = new StripCache(0);
    cache.set('a', strip());
    expect(cache.get('a')).toBeDefined();
    cache.set('b', strip());
    expect([cache.get('a'), cache.bytes.spare]).toEqual([undefined, 80]);
  });
});
