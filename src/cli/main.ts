import { Command, CommanderError } from 'commander';

/**
 * Runs one command line.
 * @param args what stands after the program's name
 * @returns the exit code: 0 done, 1 a guard failed, 2 bad input
 */
export async function main(args: readonly string[]): Promise<number> {
  const program = new Command('tributary')
    .description('A bench for parallel mixing: measures, renders and prints parallel blends.')
    .exitOverride();
  try {
    await program.parseAsync([...args], { from: 'user' });
    return 0;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : 2;
    throw error;
  }
}
