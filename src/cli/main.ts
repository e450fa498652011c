import { Command, CommanderError } from 'commander';
import { ProblemError } from '../session/problem.ts';
import { Console, processStreams, type Streams } from './console.ts';
import { GuardFailed } from './guard-failed.ts';

const DONE = 0;
const GUARD_FAILED = 1;
const BAD_INPUT = 2;

type AddCommand = (program: Command, console: Console) => void;

/** All commands, in the order in which help lists them. Each is loaded when it is called: a short one starts at once. */
const COMMANDS: Readonly<Record<string, () => Promise<AddCommand>>> = {
  measure: async () => (await import('./commands/measure.ts')).addMeasure,
  chain: async () => (await import('./commands/chain.ts')).addChain,
  presets: async () => (await import('./commands/presets.ts')).addPresets,
  intake: async () => (await import('./commands/intake.ts')).addIntake,
  ledger: async () => (await import('./commands/ledger.ts')).addLedger,
  sweep: async () => (await import('./commands/sweep.ts')).addSweep,
  solve: async () => (await import('./commands/solve.ts')).addSolve,
  ride: async () => (await import('./commands/ride.ts')).addRide,
  compare: async () => (await import('./commands/compare.ts')).addCompare,
  headroom: async () => (await import('./commands/headroom.ts')).addHeadroom,
  check: async () => (await import('./commands/check.ts')).addCheck,
  notes: async () => (await import('./commands/notes.ts')).addNotes,
  recall: async () => (await import('./commands/recall.ts')).addRecall,
  approval: async () => (await import('./commands/approval.ts')).addApproval,
  print: async () => (await import('./commands/print.ts')).addPrint,
  export: async () => (await import('./commands/export.ts')).addExport,
  bundle: async () => (await import('./commands/bundle.ts')).addBundle,
  unpack: async () => (await import('./commands/unpack.ts')).addUnpack,
  verify: async () => (await import('./commands/verify.ts')).addVerify,
};

/**
 * The command that `args` begin with, or all commands where there is none. Commander does not print usage errors:
 * `main` prints them like all others.
 */
const programFor = async ([name = '']: readonly string[], console: Console): Promise<Command> => {
  const program = new Command('tributary')
    .description('A bench for parallel mixing: measures, renders and prints parallel blends.')
    .exitOverride()
    .configureOutput({ writeOut: console.out, writeErr: () => {} });
  const called = Object.hasOwn(COMMANDS, name) ? [COMMANDS[name]!] : Object.values(COMMANDS);
  for (const load of called) (await load())(program, console);
  return program;
};

/** A usage error as one sentence. */
const usageSentence = (program: Command, { code, message }: CommanderError): string => {
  if (code === 'commander.help') {
    const names = program.commands.map((command) => command.name());
    return `A command is missing or not known: expected one of ${names.join(', ')}; --help describes them.`;
  }
  const words = message
    .replace(/^error: /, '')
    .replace(/\s*\n\s*/g, ' ')
    .replace(/\.$/, '')
    .replace(/\. ([A-Z])/g, (_, first: string) => `: ${first.toLowerCase()}`);
  return `${words[0]!.toUpperCase()}${words.slice(1)}; --help lists the options.`;
};

/**
 * Runs one command line.
 * @param args the arguments after the program's name
 * @returns the exit code: 0 done, 1 a guard failed, 2 bad input
 */
export async function main(args: readonly string[], streams: Streams = processStreams()): Promise<number> {
  const console = new Console(streams);
  const program = await programFor(args, console);
  try {
    await program.parseAsync([...args], { from: 'user' });
    return DONE;
  } catch (error) {
    if (error instanceof CommanderError && error.exitCode === 0) return DONE;
    if (error instanceof GuardFailed) return GUARD_FAILED;
    if (error instanceof CommanderError) console.note(usageSentence(program, error));
    else if (error instanceof ProblemError) console.note(error.message);
    else throw error;
    return BAD_INPUT;
  }
}
