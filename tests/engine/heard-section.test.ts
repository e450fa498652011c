import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { HeardSection } from '../../src/engine/worker/heard-section.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

const SPAN = { from: 480_000, to: 960_000 };

const made = () => {
  const onLeft = vi.fn();
  return { onLeft, section: new HeardSection(onLeft) };
};

it('a jump out of what was rendered first is told; one within it, or while nothing plays, is not', () => {
  const { onLeft, section } = made();
  section.look({ from: 0, to: 480_000 });
  section.begin(SPAN, 10, 1, true);
  section.look({ from: 500_000, to: 980_000 });
  section.look(null);
  expect(onLeft).not.toHaveBeenCalled();
  section.look({ from: 479_999, to: 900_000 });
  section.look({ from: 960_000, to: 1_200_000 });
  expect(onLeft).toHaveBeenCalledTimes(2);
  section.end();
  section.look({ from: 0, to: 480_000 });
  expect(onLeft).toHaveBeenCalledTimes(2);
});

it('what is heard behind a section is rendered in time, unless sections take so long that nothing else would be', () => {
  const { onLeft, section } = made();
  section.begin(SPAN, 10, 2, false);
  vi.advanceTimersByTime(6900);
  expect(onLeft).not.toHaveBeenCalled();
  vi.advanceTimersByTime(200);
  expect(onLeft).toHaveBeenCalledOnce();
  for (const [took, isLoop] of [
    [6, false],
    [2, true],
  ] as const) {
    section.begin(SPAN, 10, took, isLoop);
    vi.advanceTimersByTime(60_000);
  }
  section.begin(SPAN, 10, 2, false);
  section.end();
  vi.advanceTimersByTime(60_000);
  expect(onLeft).toHaveBeenCalledOnce();
});
