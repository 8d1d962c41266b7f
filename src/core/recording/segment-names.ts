import type { Segment } from './recording';

/** Longest name that a session keeps. */
export const longestSegmentName = 200;

/** Segments whose names are all different, and what was renamed, in words. */
export interface DistinctSegments {
  readonly segments: readonly Segment[];
  readonly renamed: readonly string[];
}

/**
 * A sign-off names its segment, so within a recording each name stands once: a repeat gets the next free number, in the
 * order of time. The same list always gets the same names.
 */
export function distinctSegments(segments: readonly Segment[]): DistinctSegments {
  const renamed: string[] = [];
  const given = new Set(segments.map(s => s.name));
  const met = new Set<string>();
  const numbers = new Map<string, number>();
  const distinct = segments.map(segment => {
    if (!met.has(segment.name)) {
      met.add(segment.name);
      return segment;
    }
    const { name, number } = nextFree(segment.name, given, numbers.get(segment.name) ?? 2);
    numbers.set(segment.name, number + 1);
    given.add(name);
    renamed.push(`Two segments are called "${segment.name}": the later one is named "${name}".`);
    return { ...segment, name };
  });
  return renamed.length === 0 ? { segments, renamed } : { segments: distinct, renamed };
}

/** `from`: the first number not yet given to this name. */
function nextFree(name: string, taken: ReadonlySet<string>, from: number): { name: string; number: number } {
  for (let number = from; ; number++) {
    const suffix = ` (${number})`;
    const numbered = `${name.slice(0, longestSegmentName - suffix.length)}${suffix}`;
    if (!taken.has(numbered)) return { name: numbered, number };
  }
}
