import { vi } from 'vitest';

/** Name and content of the file that is handed to the user by `act`. */
export const downloaded = async (act: () => Promise<unknown>): Promise<readonly [string, Uint8Array]> => {
  const given = new Promise<readonly [string, Uint8Array]>((resolve) => {
    vi.spyOn(HTMLAnchorElement.prototype, 'click').mockImplementationOnce(function (this: HTMLAnchorElement) {
      const content = fetch(this.href).then((answer) => answer.arrayBuffer());
      resolve(content.then((bytes) => [this.download, new Uint8Array(bytes)] as const));
    });
  });
  await act();
  return given;
};
