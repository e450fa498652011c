/** A requirement that this machine does not meet: the message is one sentence that says what is missing and what to do. */
export class SetupError extends Error {}

/**
 * Runs an entry script. For a SetupError only its sentence is printed; any other error is a bug and is printed with its stack.
 * @param {() => Promise<void>} entry
 * @param {number} exitCode exit code of the process on a SetupError
 */
export async function runEntry(entry, exitCode) {
  try {
    await entry();
  } catch (error) {
    console.error(error instanceof SetupError ? error.message : error);
    process.exitCode = exitCode;
  }
}
