import type { Attachment } from 'svelte/attachments';

/** A press becomes a drag once the pointer has moved this far, px. */
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

/** The topmost element under the pointer whose `data-place` begins with `kind`. */
export const placeUnder = ({ clientX, clientY }: PointerEvent, kind: string): HTMLElement | null => {
  for (const element of document.elementsFromPoint(clientX, clientY)) {
    const place = element.closest<HTMLElement>(`[data-place^="${kind} "]`);
    if (place) return place;
  }
  return null;
};

/** The words of a place after its kind. */
export const namesOf = (place: Element): string[] => (place.getAttribute('data-place') ?? '').split(' ').slice(1);

/** A finger that rests so long takes hold; one that moves before that scrolls, ms. */
const HOLD_MS = 400;

/** One element whose presses may become drags. */
class Dragging {
  private start: PointerEvent | null = null;
  private isDragged = false;
  private hold: ReturnType<typeof setTimeout> | undefined;

  constructor(
    private readonly element: HTMLElement,
    private readonly drag: PointerDrag,
  ) {
    element.addEventListener('pointerdown', this.press);
  }

  leave(): void {
    this.element.removeEventListener('pointerdown', this.press);
    if (this.start) this.end();
  }

  private readonly press = (event: PointerEvent): void => {
    if (event.button !== 0 || this.drag.takes?.(event.target as Element) === false) return;
    this.start = event;
    addEventListener('pointermove', this.pull);
    addEventListener('pointerup', this.drop);
    addEventListener('pointercancel', this.end);
    addEventListener('keydown', this.giveUp, true);
    if (event.pointerType !== 'touch') return;
    addEventListener('touchmove', this.keepStill, { passive: false });
    this.hold = setTimeout(() => this.move(event), HOLD_MS);
  };

  private readonly pull = (event: PointerEvent): void => {
    const { start } = this;
    if (!start) return;
    if (!this.isDragged && Math.hypot(event.clientX - start.clientX, event.clientY - start.clientY) < SLACK) return;
    if (!this.isDragged && start.pointerType === 'touch') this.end();
    else this.move(event);
  };

  private readonly drop = (event: PointerEvent): void => {
    if (this.isDragged) {
      this.element.addEventListener('click', swallow, { capture: true, once: true });
      setTimeout(() => this.element.removeEventListener('click', swallow, true));
      this.drag.drops(event);
    }
    this.end();
  };

  private readonly giveUp = (event: KeyboardEvent): void => {
    if (event.key !== 'Escape' || !this.isDragged) return;
    event.preventDefault();
    event.stopPropagation();
    this.end();
  };

  /** What a finger holds moves with it, and the page stays. */
  private readonly keepStill = (event: TouchEvent): void => {
    if (this.isDragged) event.preventDefault();
  };

  private readonly end = (): void => {
    clearTimeout(this.hold);
    this.start = null;
    this.isDragged = false;
    removeEventListener('pointermove', this.pull);
    removeEventListener('pointerup', this.drop);
    removeEventListener('pointercancel', this.end);
    removeEventListener('keydown', this.giveUp, true);
    removeEventListener('touchmove', this.keepStill);
    this.drag.ends();
  };

  private move(event: PointerEvent): void {
    this.isDragged = true;
    this.drag.moves(event);
  }
}

/** What was dragged is not clicked as well. */
const swallow = (event: MouseEvent): void => {
  event.stopPropagation();
  event.preventDefault();
};

/**
 * Drags what it is attached to, once the pointer has gone some way, or a finger has rested: until then a click stays a click. Escape gives
 * up.
 */
export const pointerDrag =
  (drag: PointerDrag): Attachment<HTMLElement> =>
  (element) => {
    const dragging = new Dragging(element, drag);
    return () => dragging.leave();
  };
