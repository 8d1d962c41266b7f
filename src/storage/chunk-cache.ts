/** Anything with a size in memory. */
interface Sized {
  readonly byteLength: number;
}

/**
 * Keeps what was used last within a budget in bytes; the least recently used goes first. One item larger than the whole
 * budget is not kept.
 */
export class ChunkCache<T extends Sized> {
  private readonly items = new Map<string, T>();
  private bytes = 0;

  constructor(readonly budgetBytes: number) {}

  get usedBytes(): number {
    return this.bytes;
  }

  get(key: string): T | undefined {
    const item = this.items.get(key);
    if (item === undefined) return undefined;
    // A Map keeps insertion order: putting it back makes it the newest.
    this.items.delete(key);
    this.items.set(key, item);
    return item;
  }

  set(key: string, item: T): void {
    this.delete(key);
    if (item.byteLength > this.budgetBytes) return;
    this.items.set(key, item);
    this.bytes += item.byteLength;
    for (const [oldest, { byteLength }] of this.items) {
      if (this.bytes <= this.budgetBytes) return;
      this.items.delete(oldest);
      this.bytes -= byteLength;
    }
  }

  delete(key: string): void {
    this.bytes -= this.items.get(key)?.byteLength ?? 0;
    this.items.delete(key);
  }

  /** Drops every item whose key starts with `prefix`. */
  deleteUnder(prefix: string): void {
    for (const key of [...this.items.keys()]) if (key.startsWith(prefix)) this.delete(key);
  }
}
