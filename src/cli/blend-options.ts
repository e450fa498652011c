import type { Command } from 'commander';
import type { PlaceOptions } from './workplace.ts';

/** What sweep, solve and check are all told. */
export interface BlendOptions extends PlaceOptions {
  readonly json?: true;
}

/** Lets a session name files that stand anywhere. */
export const ALLOW_OUTSIDE = [
  '--allow-outside',
  "reads files that stand neither below the session's folder nor below the current one",
] as const;

/** Lays the shared options on a command. */
export const withBlendOptions = (command: Command): Command =>
  command
    .option('--section <name>', 'a section of the session, instead of the whole')
    .option('--guards <set>', 'a set of guards instead of the default one; limits of the session go before it')
    .option(...ALLOW_OUTSIDE)
    .option('--json', 'one JSON document');

/** Which stage figures of blends are of; said in every answer. */
export const BEFORE_MIX_BUS = 'before the mix bus';
