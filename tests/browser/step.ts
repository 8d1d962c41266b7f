import type { Page } from '@playwright/test';

type Steps = Record<string, (...args: never[]) => unknown>;

/**
 * Runs a function of a module under tests/browser/pages/ inside the page and brings its answer back.
 * `step<typeof import('./pages/x')>(page, 'x', 'name', ...args)`.
 */
export async function step<M extends Steps, K extends keyof M & string = keyof M & string>(
  page: Page,
  module: string,
  name: K,
  ...args: Parameters<M[K]>
): Promise<Awaited<ReturnType<M[K]>>> {
  const code = `import('/tests/browser/pages/${module}.ts').then(m => m[${JSON.stringify(name)}](...${JSON.stringify(args)}))`;
  return (await page.evaluate(code)) as Awaited<ReturnType<M[K]>>;
}

/** A page of the modules server without the application: storage and workers, nothing else. */
export const emptyPage = '/package.json';
