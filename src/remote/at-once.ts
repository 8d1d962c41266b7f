/** Requests on their way at once: what a browser allows one server. */
const requestsAtOnce = 6;

/** Does something for each item, several at a time; results in the order of the items. The first failure ends it. */
export async function atOnce<T, R>(items: readonly T[], act: (item: T) => Promise<R>): Promise<R[]> {
  const found: R[] = new Array(items.length);
  let next = 0;
  const worker = async () => {
    while (next < items.length) {
      const i = next++;
      found[i] = await act(items[i]!);
    }
  };
  const failing = async () => {
    try {
      await worker();
    } catch (error) {
      next = items.length;
      throw error;
    }
  };
  await Promise.all(Array.from({ length: Math.min(requestsAtOnce, items.length) }, failing));
  return found;
}
