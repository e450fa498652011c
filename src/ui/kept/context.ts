import { createContext } from 'svelte';
import type { Keeping } from './keeping.svelte.ts';

/** null: nothing is kept on this device. */
export const [useKeeping, provideKeeping] = createContext<Keeping | null>();
