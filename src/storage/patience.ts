/** The wait is cut into so many pauses, after each of which the browser must have answered another question. */
const pauses = 5;
/** A question that is not answered for so many pauses counts as answered: the wait ends one day, whatever the browser does. */
const longestPauses = 12;

const pause = (ms: number) => new Promise<void>(resolve => setTimeout(resolve, ms));

/**
 * The result of `work` on the browser's store. Where it is not there although the browser has answered other questions about
 * its stores for `patienceMs`, `late` is called: it rejects, or waits on for as long as it likes. A browser that answers none
 * of them is busy, as on a machine under load, and tells nothing about this store. It gets twelve times as long.
 */
export async function withPatience<T>(work: Promise<T>, patienceMs: number, late: () => Promise<never>): Promise<T> {
  let waiting = true;
  const eachMs = patienceMs / pauses;
  const outwaited = async (): Promise<never> => {
    for (let i = 0; i < pauses && waiting; i++) {
      await pause(eachMs);
      await Promise.race([anyAnswer(), pause(longestPauses * eachMs)]);
    }
    // Nobody waits for this any more.
    if (!waiting) return new Promise(() => undefined);
    return late();
  };
  try {
    return await Promise.race([work, outwaited()]);
  } finally {
    waiting = false;
  }
}

async function anyAnswer(): Promise<void> {
  // An answer that refuses is one too; engines of before 2020 (Firefox: 2024) cannot be asked.
  await indexedDB.databases?.().catch(() => undefined);
}
