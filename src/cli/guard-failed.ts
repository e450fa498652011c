/** Thrown after a command has written its answer, to exit with the code for a broken guard. */
export class GuardFailed extends Error {}
