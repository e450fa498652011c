/** What can be reached by Tab. */
const REACHABLE = ':is(button, input, select, textarea, summary, a[href], [tabindex="0"]):not(:disabled, [hidden])';
/** After this many frames, code that sets the focus on purpose has done so. */
const FRAMES = 2;

const isLost = (): boolean => document.activeElement === null || document.activeElement === document.body;
const isOut = (element: HTMLElement): boolean => !element.isConnected || element.matches(':disabled');
const isGone = (element: HTMLElement): boolean => isOut(element) || !element.checkVisibility();

const ancestorsOf = (element: Element): HTMLElement[] => {
  const all: HTMLElement[] = [];
  for (let each = element.parentElement; each && each !== document.body; each = each.parentElement) all.push(each);
  return all;
};

const controlsOf = (around: Element): HTMLElement[] => [...around.querySelectorAll<HTMLElement>(REACHABLE)];

/** What takes letters, which are keys of the song elsewhere. */
const TAKES_TEXT = 'textarea, input:is([type="text"], :not([type]))';

/** The first control, a field for text only where there is no other. */
export const firstWithin = (around: Element): HTMLElement | undefined => {
  const seen = controlsOf(around).filter((each) => each.checkVisibility());
  return seen.find((each) => !each.matches(TAKES_TEXT)) ?? seen[0];
};

const nameOf = (element: Element): string => element.getAttribute('aria-label') ?? element.textContent.trim();

/** What stands for a control that is gone: one of its name in what is left around it, as it may have been made anew, or the first there. */
const nearest = (gone: Element, around: readonly HTMLElement[]): HTMLElement | undefined => {
  const left = around.find((each) => each.isConnected && firstWithin(each) !== undefined);
  if (!left) return undefined;
  const [tag, name] = [gone.tagName, nameOf(gone)];
  const again = controlsOf(left).find((each) => each.tagName === tag && nameOf(each) === name);
  return name !== '' && again?.checkVisibility() ? again : firstWithin(left);
};

const isElement = (node: Node | null): node is Element => node instanceof Element;
/** Itself where it can be reached, and what can be reached in it. */
const withControls = (row: Element): HTMLElement[] => [
  ...(row.matches(REACHABLE) ? [row as HTMLElement] : []),
  ...controlsOf(row),
];
const isLeft = (node: Node | null): node is Element | CharacterData => node !== null && node.isConnected;

/** The same control of the row behind the one that went with `gone`, or of the row before. */
const besides = (record: MutationRecord, gone: HTMLElement): HTMLElement[] => {
  const row = [...record.removedNodes].filter(isElement).find((node) => node.contains(gone));
  if (!row) return [];
  const { previousSibling: before, target } = record;
  // What stood before it may be gone too; what stood behind it often is, as it held its place.
  const [behind, ahead] = isLeft(before)
    ? [before.nextElementSibling, isElement(before) ? before : before.previousElementSibling]
    : [(target as Element).firstElementChild, null];
  const place = withControls(row).indexOf(gone);
  return [behind, ahead].flatMap((other) => (other?.tagName === row.tagName ? (withControls(other)[place] ?? []) : []));
};

/**
 * Gives the focus back to what had it before a dialog, or to what stands for that now.
 * @param opener what had it
 * @returns called once the dialog is gone
 */
export const giveBackLater = (opener = document.activeElement): (() => void) => {
  if (!(opener instanceof HTMLElement) || opener === document.body) return () => {};
  const around = ancestorsOf(opener);
  return () => (isGone(opener) ? nearest(opener, around) : opener)?.focus();
};

/**
 * Keeps the focus from falling to the page when the control that has it goes away, is moved or is disabled, as when a panel takes the
 * place of another: it then goes to the row beside, to the control that was made anew, or to the first of what is left around it. What
 * takes the focus on purpose comes first.
 */
export const guardFocus = (root: HTMLElement): (() => void) => {
  const page = root.ownerDocument.body;
  let last: HTMLElement | null = null;
  let around: readonly HTMLElement[] = [];
  let beside: readonly HTMLElement[] = [];
  /** It was removed and inserted elsewhere, and so lost the focus. */
  let isMoved = false;
  const remember = ({ target }: FocusEvent): void => {
    last = target as HTMLElement;
    around = ancestorsOf(last);
    beside = [];
    isMoved = false;
  };
  const mend = (): void => {
    if (!last || !isLost() || !(isMoved || isGone(last))) return;
    const to = isGone(last) ? (beside.find((each) => !isGone(each)) ?? nearest(last, around)) : last;
    last = null;
    to?.focus({ preventScroll: true });
  };
  const later = (frames: number): void => void requestAnimationFrame(() => (frames > 1 ? later(frames - 1) : mend()));
  const observer = new MutationObserver((records) => {
    if (!last) return;
    for (const record of records) {
      const found = besides(record, last);
      if (found.length > 0) beside = found;
      if ([...record.removedNodes].some((node) => node.contains(last))) isMoved = true;
    }
    // Whether it shows is asked only where something was hidden: that takes the page's styles.
    if (isMoved || isOut(last) || records.some(({ attributeName }) => attributeName === 'hidden')) later(FRAMES);
  });
  page.addEventListener('focusin', remember);
  observer.observe(page, { subtree: true, childList: true, attributes: true, attributeFilter: ['disabled', 'hidden'] });
  return () => {
    page.removeEventListener('focusin', remember);
    observer.disconnect();
  };
};
