import type { Command } from 'commander';
import type { PlaceOptions } from './workplace.ts';

/** Options that sweep, solve and check share. */
export interface BlendOptions extends PlaceOptions {
  readonly json?: true;
}

/** Option that allows a session to name files in any folder. */
export const ALLOW_OUTSIDE = [
  '--allow-outside',
  "also reads files outside of the session's folder and the current one",
] as const;

/** Adds the shared options to a command. */
export const withBlendOptions = (command: Command): Command =>
  command
    .option('--section <name>', 'measure this section of the session instead of the whole song')
    .option('--guards <set>', 'a set of guards instead of the default one; limits in the session override it')
    .option(...ALLOW_OUTSIDE)
    .option('--json', 'one JSON document');

/** The stage at which blends are measured, stated in every answer. */
export const BEFORE_MIX_BUS = 'before the mix bus';
