import { type ComponentType, type ReactNode, useLayoutEffect, useState } from 'react';

/**
 * A part of the page whose code is fetched when it is first shown, with `meanwhile` in its place. Offline it comes from what
 * the page keeps of itself. Not React's `lazy`: what that shows waits until 300 ms after the placeholder did.
 */
export function fetched<Props extends object>(load: () => Promise<ComponentType<Props>>, meanwhile: ReactNode = null) {
  let here: ComponentType<Props> | null = null;
  // biome-ignore lint/correctness/noComponentHookFactories: made once for each part, where its module is loaded
  return function Fetched(props: Props) {
    const [Part, setPart] = useState(() => here);
    const [problem, setProblem] = useState<Error | null>(null);
    useLayoutEffect(() => {
      if (here) return;
      let gone = false;
      load().then(
        part => {
          here = part;
          if (!gone) setPart(() => part);
        },
        (error: unknown) => gone || setProblem(notFetched(error)),
      );
      return () => {
        gone = true;
      };
    }, []);
    // The page's crash screen says it, with its words on what is kept.
    if (problem) throw problem;
    return Part ? <Part {...props} /> : meanwhile;
  };
}

function notFetched(error: unknown): Error {
  const why = error instanceof Error ? error.message : String(error);
  return new Error(
    `This part of the page could not be fetched: ${why} Reload the page; where there is no network, it works once the page has been loaded whole.`,
  );
}
