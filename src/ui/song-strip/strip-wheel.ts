import type { Attachment } from 'svelte/attachments';
import type { StripView } from '../bench/strip-view.svelte.ts';
import { secondsAt } from './strip-geometry.ts';

/** Turn of the wheel that halves or doubles what is shown, px. */
const HALF_PX = 240;
/** A line of a wheel that counts in lines, px. */
const LINE_PX = 16;

/** The wheel over the strip: up and down zooms around the pointer, to the side or with Shift it scrolls. */
export const stripWheel =
  (strip: StripView): Attachment<HTMLElement> =>
  (element) => {
    const turn = (event: WheelEvent): void => {
      const unit = event.deltaMode === WheelEvent.DOM_DELTA_PIXEL ? 1 : LINE_PX;
      const { left, width } = element.getBoundingClientRect();
      const aside = event.shiftKey ? event.deltaX || event.deltaY : event.deltaX;
      if (aside !== 0 && (event.shiftKey || Math.abs(aside) > Math.abs(event.deltaY))) {
        if (strip.isWhole) return;
        event.preventDefault();
        return strip.scroll((unit * aside) / Math.max(1, width));
      }
      event.preventDefault();
      strip.zoom(2 ** ((-unit * event.deltaY) / HALF_PX), secondsAt(event.clientX - left, width, strip.range));
    };
    // Handlers of the framework may not keep the page from scrolling.
    element.addEventListener('wheel', turn, { passive: false });
    return () => element.removeEventListener('wheel', turn);
  };
