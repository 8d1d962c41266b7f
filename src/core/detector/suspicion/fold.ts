import { between, lowerBound, type Marks } from '../../marks/markset';
import { joinInto, lengthOf } from '../../moments';
import type { SampleIndex, Span } from '../../units';
import type { SuspicionInput } from './context';

/**
 * The features of a recording leave out the inside of its long gaps. Suspicion is worked out on the time line that is
 * left, on which the gaps are short, and its positions are moved back.
 */
export interface Fold {
  /** Stretches left out, in samples of the recording. */
  readonly cuts: readonly Span[];
  /** Samples left out before each cut. */
  readonly before: Float64Array;
}

/** `cuts` are sorted and disjoint. */
export function foldOf(cuts: readonly Span[]): Fold {
  const before = new Float64Array(cuts.length + 1);
  for (const [i, { start, end }] of cuts.entries()) before[i + 1] = before[i]! + end - start;
  return { cuts, before };
}

/** How many cuts begin before a position, given where each begins. */
function cutsBefore(count: number, beginOf: (cut: number) => number, position: number): number {
  let low = 0;
  let high = count;
  while (low < high) {
    const middle = (low + high) >> 1;
    if (beginOf(middle) < position) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** What lies in a cut goes to where it was. */
function folded({ cuts, before }: Fold, sample: number): number {
  const n = cutsBefore(cuts.length, i => cuts[i]!.start, sample);
  return Math.max(sample - before[n]!, n > 0 ? cuts[n - 1]!.start - before[n - 1]! : 0);
}

/** A position on the shortened time line as a sample of the recording. */
export function unfolded({ cuts, before }: Fold, position: number): SampleIndex {
  const n = cutsBefore(cuts.length, i => cuts[i]!.start - before[i]!, position);
  return (position + before[n]!) as SampleIndex;
}

/** Marks in a cut, where nothing was recorded, are left out. */
export function foldMarks(fold: Fold, marks: Marks): Marks {
  const parts: Marks[] = [];
  let from = 0;
  for (const { start, end } of [...fold.cuts, { start: Number.MAX_SAFE_INTEGER, end: Number.MAX_SAFE_INTEGER }]) {
    const left = fold.before[parts.length]!;
    parts.push(between(marks, from, start).map(m => m - left));
    from = end;
  }
  return joinInto(new Int32Array(lengthOf(parts)), parts);
}

/** What is known of each beat, without those that lie in a cut. */
function chances(fold: Fold, { second, secondChance }: SuspicionInput, old: SuspicionInput | null) {
  if (!second || !secondChance) return {};
  if (old) return { secondChance: old.secondChance! };
  const inCut = new Uint8Array(second.length);
  for (const { start, end } of fold.cuts) inCut.fill(1, lowerBound(second, start), lowerBound(second, end));
  return { secondChance: secondChance.filter((_, k) => inCut[k] === 0) };
}

function foldSpans(fold: Fold, spans: readonly Span[]): Span[] {
  const moved = spans.map(s => ({ start: folded(fold, s.start), end: folded(fold, s.end) }) as Span);
  return moved.filter(s => s.end > s.start);
}

/** The input on the shortened time line; it is the input itself where nothing was cut. What did not change stays the same. */
export function foldInput(
  input: SuspicionInput,
  old: { readonly input: SuspicionInput; readonly folded: SuspicionInput } | null,
): SuspicionInput {
  const { cuts } = input.features;
  if (cuts.length === 0) return input;
  const fold = foldOf(cuts);
  const same = (key: keyof SuspicionInput) => old !== null && old.input[key] === input[key];
  const spans = (key: 'gaps' | 'unreadable' | 'secondUnsure') => {
    return same(key) ? old!.folded[key] : foldSpans(fold, input[key]);
  };
  return {
    features: input.features,
    marks: same('marks') ? old!.folded.marks : foldMarks(fold, input.marks),
    second: same('second') ? old!.folded.second : input.second && foldMarks(fold, input.second),
    ...chances(fold, input, same('second') && same('secondChance') ? old!.folded : null),
    secondUnsure: spans('secondUnsure'),
    gaps: spans('gaps'),
    unreadable: spans('unreadable'),
  };
}
