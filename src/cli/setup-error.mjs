/** Something that this machine lacks: the message is the one sentence that says what, and what to do. */
export class SetupError extends Error {}

/**
 * Runs an entry script. What the machine lacks ends in its sentence; anything else is a bug of ours and keeps its trace.
 * @param {() => Promise<void>} entry
 * @param {number} exitCode what the process answers when it could not do its work
 */
export async function runEntry(entry, exitCode) {
  try {
    await entry();
  } catch (error) {
    console.error(error instanceof SetupError ? error.message : error);
    process.exitCode = exitCode;
  }
}
