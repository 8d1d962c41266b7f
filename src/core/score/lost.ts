import { lowerBound } from '../marks/markset';
import type { Matching } from '../marks/match';
import { firstEndingAfter, lengthWithin } from '../marks/spans';
import type { Segment } from '../recording/recording';
import type { SampleIndex, Span } from '../units';
import { localRr } from './intervals';

/** A stretch of a segment in which no interval can be judged, reaching from the beat before to the beat after. */
export interface LostStretch extends Span {
  /** Most of its unreadable length is a gap of the recording (`no signal`) or was marked by the rater (`unreadable`). */
  readonly kind: 'unreadable' | 'no signal';
  /** Estimated number of intervals; null when no interval can be judged anywhere. */
  readonly intervals: number | null;
}

/**
 * Lost intervals of one segment. The parts of the excluded spans inside the segment are merged where no
 * reviewed beat lies between them, stretched to the beats around them or the segment's edge, and measured by the local
 * RR interval: max(1, round(length / localRR)), halves rounding up. Both lists of spans are normalised.
 */
export function lostStretches(
  matching: Matching,
  outcomes: Uint8Array,
  segments: readonly Segment[],
  segment: Segment,
  excluded: readonly Span[],
  gaps: readonly Span[],
): LostStretch[] {
  const parts = clipped(excluded, segment);
  return hulls(matching, parts).map(hull => {
    const stretched = stretch(matching, segment, hull);
    const rr = localRr({ beats: matching.beats, outcomes, segments }, stretched.start, stretched.end);
    const length = stretched.end - stretched.start;
    const noSignal = lengthWithin(gaps, hull);
    const marked = lengthWithin(parts, hull);
    return {
      ...stretched,
      kind: noSignal * 2 > marked ? 'no signal' : 'unreadable',
      intervals: rr === null ? null : Math.max(1, Math.floor(length / rr + 0.5)),
    };
  });
}

/** The parts of a normalised list inside a segment, without going through the rest of it. */
function clipped(spans: readonly Span[], { start, end }: Span): Span[] {
  const out: Span[] = [];
  for (let k = firstEndingAfter(spans, start); k < spans.length && spans[k]!.start < end; k++) {
    const span = spans[k]!;
    out.push({ start: span.start > start ? span.start : start, end: span.end < end ? span.end : end });
  }
  return out;
}

function hulls(matching: Matching, parts: readonly Span[]): Span[] {
  const out: Span[] = [];
  for (const part of parts) {
    const last = out.at(-1);
    const beat = last && matching.beats[lowerBound(matching.beats, last.end)];
    if (last && (beat === undefined || beat >= part.start)) out[out.length - 1] = { start: last.start, end: part.end };
    else out.push(part);
  }
  return out;
}

function stretch(matching: Matching, segment: Segment, hull: Span): Span {
  const { beats } = matching;
  const before = beats[lowerBound(beats, hull.start) - 1];
  const after = beats[lowerBound(beats, hull.end)];
  return {
    start: before !== undefined && before >= segment.start ? (before as SampleIndex) : segment.start,
    end: after !== undefined && after < segment.end ? (after as SampleIndex) : segment.end,
  };
}
