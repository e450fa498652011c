import type { Command } from 'commander';
import { DEFAULT_SET, guardSetByName, guardsInForce, type GuardInForce } from '../session/guard-set.ts';
import type { Session } from '../session/schema.ts';
import { BlendWorkshop, sectionNamed } from './blend-context.ts';
import type { Console } from './console.ts';
import { readSessionFromDisk, type SessionOnDisk, type SessionReader } from './session-on-disk.ts';

/** What sweep, solve and check are all told. */
export interface BlendOptions {
  readonly section?: string;
  readonly guards?: string;
  readonly allowOutside?: true;
  readonly json?: true;
}

/** Lets a session name files that stand anywhere. */
export const ALLOW_OUTSIDE = [
  '--allow-outside',
  "reads files that stand neither below the session's folder nor below the current one",
] as const;

/** How commands have sessions read: progress, warnings on standard error. */
export const readerFor = (console: Console, allowOutside: boolean, check: SessionReader['check']): SessionReader => ({
  onFile: (file, done) => console.progress(`Reading ${file}`, done),
  ...{ check, warn: console.note, allowOutside },
});

/** Lays the shared options on a command. */
export const withBlendOptions = (command: Command): Command =>
  command
    .option('--section <name>', 'a section of the session, instead of the whole')
    .option('--guards <set>', 'a set of guards instead of the default one; limits of the session go before it')
    .option(...ALLOW_OUTSIDE)
    .option('--json', 'one JSON document');

/** A session on disk with all that its blends are tried on. */
export interface Workplace {
  readonly session: Session;
  readonly disk: SessionOnDisk;
  readonly workshop: BlendWorkshop;
  readonly guards: readonly GuardInForce[];
}

/**
 * Reads a session and what it names.
 * @param check what the command asks of the session beside; it may refuse before any sound is read
 * @throws ProblemError for a file, a section or a set that is not there
 */
export const workplaceOf = async (
  path: string,
  { section, guards: set = DEFAULT_SET, allowOutside }: Pick<BlendOptions, 'section' | 'guards' | 'allowOutside'>,
  console: Console,
  check: (session: Session) => Promise<void> | void = () => {},
): Promise<Workplace> => {
  const limits = guardSetByName(set, '--guards');
  const disk = await readSessionFromDisk(
    path,
    readerFor(console, allowOutside === true, (parsed) => {
      sectionNamed(parsed, path, section);
      return check(parsed);
    }),
  );
  const { session } = disk;
  const guards = guardsInForce(session.guards, limits);
  const workshop = new BlendWorkshop(disk, path, sectionNamed(session, path, section), guards, console);
  return { session, disk, workshop, guards };
};

/** Which stage figures of blends are of; said in every answer. */
export const BEFORE_MIX_BUS = 'before the mix bus';
