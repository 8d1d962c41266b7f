import type { Page } from '@playwright/test';

type Step = (...args: never[]) => unknown;
type Answer<F> = F extends (...args: never[]) => infer A ? Promise<Awaited<A>> : never;
type Arguments<F> = F extends (...args: infer A) => unknown ? A : never;
type Steps<M> = { [K in keyof M as M[K] extends Step ? K : never]: M[K] };

/** Calls a function of the module inside the page; arguments and answer travel as JSON-like values. */
export type Call<M> = <K extends keyof Steps<M> & string>(name: K, ...args: Arguments<M[K]>) => Answer<M[K]>;

/**
 * Opens a page of the modules server without the application, and gives the functions of a module under
 * tests/browser/pages/: `const call = await openSteps<typeof import('./pages/x')>(page, 'x')`.
 */
export async function openSteps<M>(page: Page, module: string): Promise<Call<M>> {
  await page.goto('/package.json');
  return ((name, ...args) => {
    const call = `${JSON.stringify(name)}](...${JSON.stringify(args)})`;
    return page.evaluate(`import('/tests/browser/pages/${module}.ts').then(m => m[${call})`);
  }) as Call<M>;
}
