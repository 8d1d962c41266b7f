import { type ComponentType, lazy } from 'react';

/** A part of the page whose code is fetched when it is first shown. Offline it comes from what the page keeps of itself. */
export function fetched<Props>(load: () => Promise<ComponentType<Props>>) {
  return lazy(async () => {
    try {
      return { default: await load() };
    } catch (error) {
      const why = error instanceof Error ? error.message : String(error);
      throw new Error(
        `This part of the page could not be fetched: ${why} Reload the page; where there is no network, it works once the page has been loaded whole.`,
      );
    }
  });
}
