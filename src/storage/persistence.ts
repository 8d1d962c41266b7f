/** How safe and how large the browser's storage is for this page. Null where the browser does not say. */
export interface StorageEstimate {
  /** True when the browser has promised not to evict it by itself. */
  readonly persistent: boolean | null;
  readonly usedBytes: number | null;
  readonly quotaBytes: number | null;
}

/** Asks the browser to keep the store; it may refuse without asking the person. */
export async function askToPersist(): Promise<boolean> {
  try {
    return (await navigator.storage?.persist?.()) ?? false;
  } catch {
    return false;
  }
}

export async function estimateStorage(): Promise<StorageEstimate> {
  try {
    const { usage, quota } = (await navigator.storage?.estimate?.()) ?? {};
    const persistent = (await navigator.storage?.persisted?.()) ?? null;
    return { persistent, usedBytes: usage ?? null, quotaBytes: quota ?? null };
  } catch {
    return { persistent: null, usedBytes: null, quotaBytes: null };
  }
}

/** Bytes that can still be stored; null where the browser does not say. */
export async function roomLeft(): Promise<number | null> {
  const { usedBytes, quotaBytes } = await estimateStorage();
  return usedBytes === null || quotaBytes === null ? null : quotaBytes - usedBytes;
}
