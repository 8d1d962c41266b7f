import type { Settlement } from '../../marks/edit';
import { between, lowerBound, type Marks, marksFrom } from '../../marks/markset';
import { BeatOutcome, type Matching } from '../../marks/match';
import { firstEndingAfter, intersect, subtract, union } from '../../marks/spans';
import type { Segment } from '../../recording/recording';
import type { SampleIndex, Span } from '../../units';

export type DisagreementKind = Settlement['kind'];

/** One place where two reviews differ. Kind and place together name it. */
export interface Disagreement {
  readonly kind: DisagreementKind;
  /** First of its marks, or the start of the stretch. */
  readonly at: SampleIndex;
  /** A's mark; for a stretch null. */
  readonly a: SampleIndex | null;
  readonly b: SampleIndex | null;
  /** For `span differs`: who called the stretch unreadable. */
  readonly unreadableBy: 'A' | 'B' | null;
  /** For `placed apart`: distance of the two marks in ms. */
  readonly apartMs: number | null;
  /**
   * The stretch that settling it decides on: the samples nearer to its marks than to any other mark of either rater, at
   * most the wrong-peak window away, or the differing stretch itself. No two disagreements share a sample.
   */
  readonly territory: readonly Span[];
  /** Segment that holds `at`; null outside all segments. */
  readonly segment: string | null;
}

export interface DisagreementInput {
  /** A's beats matched with B's as marks, outside what either called unreadable. */
  readonly matching: Matching;
  /** Unreadable spans without gaps. */
  readonly spansA: readonly Span[];
  readonly spansB: readonly Span[];
  readonly marksA: Marks;
  readonly marksB: Marks;
  readonly detected: Marks;
  readonly gaps: readonly Span[];
  readonly segments: readonly Segment[];
  readonly samplingRateHz: number;
  readonly sampleCount: number;
  readonly reachMs: number;
}

/**
 * All disagreements by place. A differing stretch is left out when it merely borders on what both call unreadable (or
 * on a gap) in the same segment and holds no mark of anyone: no count depends on it.
 */
export function disagreements(input: DisagreementInput): Disagreement[] {
  const list = [...ofMarks(input), ...ofSpans(input)];
  return list.sort((x, y) => x.at - y.at || (x.kind < y.kind ? -1 : 1));
}

function ofMarks(input: DisagreementInput): Disagreement[] {
  const { beats, marks, outcome, markOfBeat, beatOfMark } = input.matching;
  const cells = cellsOf(input);
  const out: Disagreement[] = [];
  const add = (kind: DisagreementKind, a: number | null, b: number | null) => {
    const both = [a, b].filter(m => m !== null);
    const at = Math.min(...both) as SampleIndex;
    const apartMs = a !== null && b !== null ? (Math.abs(a - b) * 1000) / input.samplingRateHz : null;
    out.push({
      kind,
      at,
      a: a as SampleIndex | null,
      b: b as SampleIndex | null,
      unreadableBy: null,
      apartMs,
      territory: union([], both.flatMap(cells)),
      segment: segmentAt(input.segments, at),
    });
  };
  for (let k = 0; k < beats.length; k++) {
    if (outcome[k] === BeatOutcome.missed) add('only A', beats[k]!, null);
    if (outcome[k] === BeatOutcome.wrongPeak) add('placed apart', beats[k]!, marks[markOfBeat[k]!]!);
  }
  for (let j = 0; j < marks.length; j++) if (beatOfMark[j] === -1) add('only B', null, marks[j]!);
  return out;
}

/** The stretch around one mark that is nearer to it than to every other mark of A or B, in what both could read. */
function cellsOf(input: DisagreementInput): (mark: number) => Span[] {
  const { beats, marks } = input.matching;
  const sites = marksFrom([...beats, ...marks]);
  const excluded = union(union(input.spansA, input.spansB), input.gaps);
  const reach = Math.floor((input.reachMs * input.samplingRateHz) / 1000);
  return mark => {
    const i = lowerBound(sites, mark);
    const before = sites[i - 1] ?? Number.NEGATIVE_INFINITY;
    const after = sites[i + 1] ?? Number.POSITIVE_INFINITY;
    const start = Math.max(0, mark - reach, Math.floor((before + mark) / 2) + 1);
    const end = Math.min(input.sampleCount, mark + reach + 1, Math.floor((mark + after) / 2) + 1);
    const cell = { start: start as SampleIndex, end: end as SampleIndex };
    const near = excluded.slice(firstEndingAfter(excluded, start), firstEndingAfter(excluded, end) + 1);
    return subtract([cell], near);
  };
}

function ofSpans(input: DisagreementInput): Disagreement[] {
  const idle = new Set(idleEdges(input).map(s => s.start));
  const by = (who: 'A' | 'B') =>
    differing(input, who)
      .filter(s => !idle.has(s.start))
      .map((s): Disagreement => {
        const segment = segmentAt(input.segments, s.start);
        const none = { a: null, b: null, apartMs: null };
        return { kind: 'span differs', at: s.start, ...none, unreadableBy: who, territory: [s], segment };
      });
  return [...by('A'), ...by('B')];
}

/** The stretches that only one of the two called unreadable and that no count depends on. */
export function idleEdges(input: DisagreementInput): Span[] {
  const common = union(intersect(input.spansA, input.spansB), input.gaps);
  const everyone = [input.marksA, input.marksB, input.detected];
  return [...differing(input, 'A'), ...differing(input, 'B')].filter(
    s =>
      touches(s, common) &&
      everyone.every(marks => between(marks, s.start, s.end).length === 0) &&
      input.segments.every(g => intersect([s], [g]).every(part => touches(part, intersect(common, [g])))),
  );
}

function touches(s: Span, list: readonly Span[]): boolean {
  return list.some(x => x.end === s.start || x.start === s.end);
}

function differing({ spansA, spansB }: DisagreementInput, by: 'A' | 'B'): Span[] {
  return by === 'A' ? subtract(spansA, spansB) : subtract(spansB, spansA);
}

function segmentAt(segments: readonly Segment[], sample: number): string | null {
  return segments.find(s => sample >= s.start && sample < s.end)?.name ?? null;
}
