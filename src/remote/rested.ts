/** Longer than a tick of any clock involved: HTTP dates are whole seconds. */
const restMs = 2000;

/** The time of an answer by the server's clock, in milliseconds; NaN where it does not say. */
export function serverTime(response: Response): number {
  return Date.parse(response.headers.get('date') ?? '');
}

/**
 * A tag for what has not changed for two seconds, '' for the rest: two changes within one tick of the server's clock would
 * have the same tag. `modified` is an HTTP date, `nowMs` the time by the same server's clock, NaN where it says none.
 */
export function restedTag(tag: string, modified: string, nowMs: number): string {
  const rest = nowMs - Date.parse(modified);
  return rest >= restMs ? tag : '';
}
