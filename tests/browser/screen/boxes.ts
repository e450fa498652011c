/** What can be used or read by itself; what holds such a part is not asked for its own box. */
const PARTS = 'button, input, select, textarea, label, progress, summary, output, a, p, h2, h3, th, td, [role=status]';

const isShown = (element: Element): boolean =>
  !element.closest('.unseen') && element.checkVisibility({ opacityProperty: true, visibilityProperty: true });

/** The part of an element's box that is not cut off by what scrolls or clips around it. */
const seenBox = (element: Element): DOMRect => {
  let { left, top, right, bottom } = element.getBoundingClientRect();
  for (let around = element.parentElement; around; around = around.parentElement) {
    if (getComputedStyle(around).overflow === 'visible') continue;
    const frame = around.getBoundingClientRect();
    [left, top] = [Math.max(left, frame.left), Math.max(top, frame.top)];
    [right, bottom] = [Math.min(right, frame.right), Math.min(bottom, frame.bottom)];
  }
  return new DOMRect(left, top, Math.max(0, right - left), Math.max(0, bottom - top));
};

const partsIn = (region: Element): Element[] => {
  const all = [...region.querySelectorAll(PARTS)].filter(isShown);
  return all.filter((part) => !all.some((other) => other !== part && part.contains(other)));
};

const nameOf = (element: Element): string =>
  (element.getAttribute('aria-label') ?? element.textContent ?? '').replace(/\s+/g, ' ').trim() || element.tagName;

/** Pairs of parts of `region` whose boxes lie over each other by more than a pixel each way. */
export const overlapsIn = (region: Element): string[] => {
  const boxes = partsIn(region).map((part) => [nameOf(part), seenBox(part)] as const);
  return boxes.flatMap(([name, a], n) =>
    boxes
      .slice(n + 1)
      .filter(
        ([, b]) =>
          Math.min(a.right, b.right) - Math.max(a.left, b.left) > 1 &&
          Math.min(a.bottom, b.bottom) - Math.max(a.top, b.top) > 1,
      )
      .map(([other]) => `${name} / ${other}`),
  );
};

/** Parts of `region` that are not wholly in it, or not wholly in the window. */
export const cutIn = (region: Element): string[] => {
  const frame = region.getBoundingClientRect();
  const right = Math.min(frame.right, window.innerWidth) + 1;
  const bottom = Math.min(frame.bottom, window.innerHeight) + 1;
  return partsIn(region)
    .filter((part) => {
      const box = part.getBoundingClientRect();
      return box.left < frame.left - 1 || box.right > right || box.top < frame.top - 1 || box.bottom > bottom;
    })
    .map(nameOf);
};

/** What lies over the middle of an element and is no part of it; null: nothing does. */
export const coverOf = (element: Element): string | null => {
  const { left, top, width, height } = element.getBoundingClientRect();
  const onTop = document.elementFromPoint(left + width / 2, top + height / 2);
  if (onTop === null) return 'the edge of the window';
  return element.contains(onTop) || onTop.contains(element) ? null : `${onTop.tagName} ${nameOf(onTop)}`;
};
