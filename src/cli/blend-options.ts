import type { Command } from 'commander';
import { DEFAULT_SET, guardSetByName, guardsInForce, type GuardInForce } from '../session/guard-set.ts';
import type { Session } from '../session/schema.ts';
import { BlendWorkshop, sectionNamed } from './blend-context.ts';
import type { Console } from './console.ts';
import { readSessionFromDisk, type SessionOnDisk } from './session-on-disk.ts';

/** What sweep, solve and check are all told. */
export interface BlendOptions {
  readonly section?: string;
  readonly guards?: string;
  readonly json?: true;
}

/** Lays the shared options on a command. */
export const withBlendOptions = (command: Command): Command =>
  command
    .option('--section <name>', 'a section of the session, instead of the whole')
    .option('--guards <set>', 'a set of guards instead of the default one; limits of the session go before it')
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
  { section, guards: set = DEFAULT_SET }: Pick<BlendOptions, 'section' | 'guards'>,
  console: Console,
  check: (session: Session) => Promise<void> | void = () => {},
): Promise<Workplace> => {
  const limits = guardSetByName(set, '--guards');
  const disk = await readSessionFromDisk(
    path,
    (file, done) => console.progress(`Reading ${file}`, done),
    (parsed) => {
      sectionNamed(parsed, path, section);
      return check(parsed);
    },
  );
  const { session } = disk;
  const guards = guardsInForce(session.guards, limits);
  const workshop = new BlendWorkshop(disk, path, sectionNamed(session, path, section), guards, console);
  return { session, disk, workshop, guards };
};

/** Which stage figures of blends are of; said in every answer. */
export const BEFORE_MIX_BUS = 'before the mix bus';
