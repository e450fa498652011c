/** Ends a command whose answer is out, with the exit code that says that a guard failed. */
export class GuardFailed extends Error {}
