/** Longer than a tick of any clock involved: HTTP dates are whole seconds. */
const restMs = 2000;

/**
 * A tag for what has not changed for two seconds, '' for the rest: two changes within one tick of the server's clock would
 * have the same tag. `modified` and `now` are HTTP dates, both by the server's clock.
 */
export function restedTag(tag: string, modified: string, now: string | null): string {
  const rest = Date.parse(now ?? '') - Date.parse(modified);
  return rest >= restMs ? tag : '';
}
