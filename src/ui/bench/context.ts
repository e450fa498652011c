import { createContext } from 'svelte';
import type { Bench } from './bench.svelte.ts';

export const [useBench, provideBench] = createContext<Bench>();
