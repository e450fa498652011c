/**
 * What stands in a popover takes the focus, a list by its first button: in the next frame, as it is made just before the
 * popover shows, and only what shows can be focused.
 */
export const takeFocus = (element: HTMLElement): (() => void) => {
  const frame = requestAnimationFrame(() => {
    const target = element instanceof HTMLInputElement ? element : element.querySelector<HTMLElement>('button:enabled');
    target?.focus();
  });
  return () => cancelAnimationFrame(frame);
};
