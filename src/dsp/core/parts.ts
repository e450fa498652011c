/** A part of a kernel that starts control blocks with it, and goes back to its start with it. */
export interface Part {
  control(): void;
  reset(): void;
}

/** A part that can forget the sound and keep its settings. */
export interface Memory {
  clear(): void;
}

export const controlAll = (parts: readonly Part[]): void => {
  for (const part of parts) part.control();
};

export const resetAll = (parts: readonly Pick<Part, 'reset'>[]): void => {
  for (const part of parts) part.reset();
};

export const clearAll = (memories: readonly Memory[]): void => {
  for (const memory of memories) memory.clear();
};
