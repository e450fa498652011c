export type ThemeName = 'light' | 'dark';

const KEY = 'tributary-theme';

const stored = (): ThemeName | null => {
  const value = localStorage.getItem(KEY);
  return value === 'light' || value === 'dark' ? value : null;
};

/** Light or dark: what the system asks for, until the user has chosen. */
export class Theme {
  #chosen = $state.raw(stored());
  #systemDark = $state.raw(false);
  readonly name: ThemeName = $derived(this.#chosen ?? (this.#systemDark ? 'dark' : 'light'));

  constructor() {
    const query = matchMedia('(prefers-color-scheme: dark)');
    this.#systemDark = query.matches;
    query.addEventListener('change', ({ matches }) => (this.#systemDark = matches));
    this.#show();
  }

  /** The other one; a choice that agrees with the system is forgotten, so that the system leads again. */
  toggle(): void {
    const next: ThemeName = this.name === 'dark' ? 'light' : 'dark';
    this.#chosen = next === (this.#systemDark ? 'dark' : 'light') ? null : next;
    if (this.#chosen) localStorage.setItem(KEY, this.#chosen);
    else localStorage.removeItem(KEY);
    this.#show();
  }

  #show(): void {
    if (this.#chosen) document.documentElement.dataset['theme'] = this.#chosen;
    else delete document.documentElement.dataset['theme'];
  }
}
