/** What the walk needs of a browser, whichever protocol it is driven by. */
export interface Driver {
  readonly name: string;
  goto(url: string): Promise<void>;
  reload(): Promise<void>;
  /** A named key ('ArrowRight', 'Delete') or a letter. */
  press(key: string): Promise<void>;
  /** Evaluates an expression in the page; promises are awaited. */
  evaluate<T>(expression: string): Promise<T>;
  /** The page as PDF; null where the engine's driver cannot print. */
  print(): Promise<Uint8Array | null>;
  close(): Promise<void>;
}

/** Polls an expression until it is true; the failure says what was awaited and what the page shows. */
export async function until(driver: Driver, what: string, expression: string, timeoutMs = 60_000): Promise<void> {
  const end = Date.now() + timeoutMs;
  while (Date.now() < end) {
    if (await driver.evaluate<boolean>(`Boolean(${expression})`)) return;
    await new Promise(resolve => setTimeout(resolve, 100));
  }
  const shown = await driver.evaluate<string>('document.body.innerText.slice(0, 2000)');
  throw new Error(`${driver.name}: waited for ${what}; the page shows:\n${shown}`);
}
