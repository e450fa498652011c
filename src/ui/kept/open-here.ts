const KEY = 'tributary-open';

/** The session that this tab had open when it was loaded last; null: none, or the tab is new. */
export const openHere = (): string | null => {
  try {
    return sessionStorage.getItem(KEY);
  } catch {
    // A browser that keeps nothing for pages.
    return null;
  }
};

/** Notes which session this tab has open. */
export const noteOpenHere = (id: string | null): void => {
  try {
    if (id === null) sessionStorage.removeItem(KEY);
    else sessionStorage.setItem(KEY, id);
  } catch {
    // It is noted on the disk as well, for all tabs.
  }
};
