import type { Attachment } from 'svelte/attachments';

/** So far the pointer goes before a press becomes a drag, px. */
const SLACK = 5;

export interface PointerDrag {
  /** Whether a press there may become a drag. */
  readonly takes?: (target: Element) => boolean;
  /** It has become a drag, or goes on. */
  readonly moves: (event: PointerEvent) => void;
  readonly drops: (event: PointerEvent) => void;
  /** It was given up, or has ended. */
  readonly ends: () => void;
}

/** The nearest element under the pointer with a place that is called like this. */
export const placeUnder = ({ clientX, clientY }: PointerEvent, kind: string): HTMLElement | null => {
  for (const element of document.elementsFromPoint(clientX, clientY)) {
    const place = element.closest<HTMLElement>(`[data-place^="${kind} "]`);
    if (place) return place;
  }
  return null;
};

/** The words of a place behind its kind. */
export const namesOf = (place: Element): string[] => (place.getAttribute('data-place') ?? '').split(' ').slice(1);

/** A finger that rests so long takes hold; one that moves before that scrolls, ms. */
const HOLD_MS = 400;

/**
 * Drags what it is attached to, once the pointer has gone some way, or a finger has rested: until then a click stays a click. Escape gives
 * up.
 */
export const pointerDrag =
  ({ takes, moves, drops, ends }: PointerDrag): Attachment<HTMLElement> =>
  (element) => {
    let start: PointerEvent | null = null;
    let isDragged = false;
    let hold: ReturnType<typeof setTimeout> | undefined;
    const end = (): void => {
      clearTimeout(hold);
      start = null;
      isDragged = false;
      removeEventListener('touchmove', keepStill);
      removeEventListener('pointermove', pull);
      removeEventListener('pointerup', drop);
      removeEventListener('pointercancel', end);
      removeEventListener('keydown', giveUp, true);
      ends();
    };
    const giveUp = (event: KeyboardEvent): void => {
      if (event.key !== 'Escape' || !isDragged) return;
      event.preventDefault();
      event.stopPropagation();
      end();
    };
    // What a finger holds moves with it, and the page stays.
    const keepStill = (event: TouchEvent): void => {
      if (isDragged) event.preventDefault();
    };
    // What was dragged is not clicked as well.
    const swallow = (event: MouseEvent): void => {
      event.stopPropagation();
      event.preventDefault();
    };
    const pull = (event: PointerEvent): void => {
      if (!start) return;
      if (!isDragged && Math.hypot(event.clientX - start.clientX, event.clientY - start.clientY) < SLACK) return;
      if (!isDragged && start.pointerType === 'touch') return end();
      isDragged = true;
      moves(event);
    };
    const drop = (event: PointerEvent): void => {
      if (isDragged) {
        element.addEventListener('click', swallow, { capture: true, once: true });
        setTimeout(() => element.removeEventListener('click', swallow, true));
        drops(event);
      }
      end();
    };
    const press = (event: PointerEvent): void => {
      if (event.button !== 0 || takes?.(event.target as Element) === false) return;
      start = event;
      addEventListener('pointermove', pull);
      addEventListener('pointerup', drop);
      addEventListener('pointercancel', end);
      addEventListener('keydown', giveUp, true);
      if (event.pointerType !== 'touch') return;
      addEventListener('touchmove', keepStill, { passive: false });
      hold = setTimeout(() => {
        isDragged = true;
        moves(event);
      }, HOLD_MS);
    };
    element.addEventListener('pointerdown', press);
    return () => {
      element.removeEventListener('pointerdown', press);
      if (start) end();
    };
  };
