/**
 * The answer of a small store that the page can do without; undefined where the browser keeps nothing, which it may say by
 * throwing at once.
 */
export async function valueIfStored<T>(work: () => Promise<T>): Promise<T | undefined> {
  try {
    return await work();
  } catch {
    return undefined;
  }
}
