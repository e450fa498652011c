import { createContext } from 'svelte';
import type { Intake } from './intake.svelte.ts';

export const [useIntake, provideIntake] = createContext<Intake>();
