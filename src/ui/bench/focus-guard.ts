/** What can be reached by Tab. */
const REACHABLE = ':is(button, input, select, textarea, a[href], [tabindex="0"]):not(:disabled, [hidden])';
/** Frames in which whoever takes the focus on purpose has done so. */
const FRAMES = 2;

const isLost = (): boolean => document.activeElement === null || document.activeElement === document.body;
const isGone = (element: HTMLElement): boolean => !element.isConnected || element.matches(':disabled');

const ancestorsOf = (element: HTMLElement): HTMLElement[] => {
  const all: HTMLElement[] = [];
  for (let each = element.parentElement; each && each !== document.body; each = each.parentElement) all.push(each);
  return all;
};

/** What takes letters, which are keys of the song elsewhere. */
const TAKES_TEXT = 'textarea, input:is([type="text"], :not([type]))';

/** The first control, a field for text only where there is no other. */
const firstWithin = (around: HTMLElement): HTMLElement | undefined => {
  const reachable = [...around.querySelectorAll<HTMLElement>(REACHABLE)];
  const isSeen = (each: HTMLElement): boolean => each.checkVisibility();
  return reachable.find((each) => !each.matches(TAKES_TEXT) && isSeen(each)) ?? reachable.find(isSeen);
};

/**
 * Keeps the focus from falling to the page when the control that has it goes away or is disabled, as when a panel takes the place
 * of another: it then goes to the first control of what is left around it. What takes the focus on purpose comes first.
 */
export const guardFocus = (root: HTMLElement): (() => void) => {
  let last: HTMLElement | null = null;
  let around: readonly HTMLElement[] = [];
  const remember = ({ target }: FocusEvent): void => {
    last = target as HTMLElement;
    around = ancestorsOf(last);
  };
  const mend = (): void => {
    if (!last || !isLost() || !isGone(last)) return;
    const left = around.find((each) => each.isConnected && firstWithin(each) !== undefined);
    last = null;
    if (left) firstWithin(left)?.focus({ preventScroll: true });
  };
  const later = (frames: number): void => void requestAnimationFrame(() => (frames > 1 ? later(frames - 1) : mend()));
  const observer = new MutationObserver(() => {
    if (last && isGone(last)) later(FRAMES);
  });
  root.addEventListener('focusin', remember);
  observer.observe(root, { subtree: true, childList: true, attributes: true, attributeFilter: ['disabled'] });
  return () => {
    root.removeEventListener('focusin', remember);
    observer.disconnect();
  };
};
