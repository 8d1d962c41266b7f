import { lowerBound, type Marks } from '../../marks/markset';
import { intersect, subtract, totalLength } from '../../marks/spans';
import type { Span } from '../../units';

/**
 * How the edges of an unreadable stretch are graded. `half`: found when half of it is marked, however far the mark goes
 * beyond, as in results of version 3 and earlier. `overlap`: by how much of it and of nothing else is marked.
 */
export type EdgeGrading = 'half' | 'overlap';

/** Overlap from which a stretch counts as found. */
const foundFrom = 0.5;

/**
 * How well the edges of an unreadable stretch were met: the length that is in both over the length that is in either, 0
 * to 1 (Jaccard index, common practice). Up to the beats on both sides a learner may go: the last one they are sure of,
 * and the next one.
 */
export function edgeOverlap(beats: Marks, marked: readonly Span[], { start, end }: Span): number {
  const before = beats[lowerBound(beats, start) - 1] ?? start;
  const after = beats[lowerBound(beats, end)] ?? end;
  const own = marked.filter(s => s.start < end && s.end > start);
  const both = totalLength(intersect(own, [{ start, end } as Span]));
  const beyond = totalLength(subtract(own, [{ start: before, end: after } as Span]));
  return both / (end - start + beyond);
}

/** What became of a stretch. */
export function edgeAnswer(
  edges: EdgeGrading,
  overlap: number,
  marked: readonly Span[],
  span: Span,
): 'found' | 'overlooked' | 'wrongly placed' {
  if (overlap === 0) return 'overlooked';
  const isFound =
    edges === 'overlap' ? overlap >= foundFrom : 2 * totalLength(intersect(marked, [span])) >= span.end - span.start;
  return isFound ? 'found' : 'wrongly placed';
}
