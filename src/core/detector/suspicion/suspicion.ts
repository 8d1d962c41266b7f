import { lowerBound, type Marks, unchanged } from '../../marks/markset';
import { subtract, union } from '../../marks/spans';
import type { SampleIndex, Span } from '../../units';
import { findingsAtMark } from './at-mark';
import type { BeatTable } from './beats';
import { beatTable, updateBeatTable } from './beats';
import { missingBefore } from './between-marks';
import type { Context, SuspicionInput } from './context';
import { blindSpans, noneHere, secondOpinion, toMilliseconds, unmarkedIn, updateOpinion } from './context';
import { foldInput, foldOf, unfolded } from './fold';
import { intervalNeighbours, intervalTable, updateIntervalTable } from './intervals';
import { type About, probability, weightOf } from './probability';
import { type Finding, hiddenBeats, type ReasonId } from './reasons';
import { unreadableProposals } from './unreadable';

/** A change the rater may take with one key. Nothing is changed by itself. */
export type Candidate =
  | { readonly kind: 'insert'; readonly at: SampleIndex }
  | { readonly kind: 'delete'; readonly at: SampleIndex }
  | { readonly kind: 'move'; readonly at: SampleIndex; readonly to: SampleIndex }
  | { readonly kind: 'unreadable'; readonly at: SampleIndex; readonly end: SampleIndex };

/** A place worth a look. `score`: the chance of a mistake there, 0 to 1 (see probability.ts). */
export interface Suspicion {
  readonly at: SampleIndex;
  /** The mark it is about; null when it is about a beat without a mark. */
  readonly mark: SampleIndex | null;
  readonly score: number;
  /** Strongest first. */
  readonly findings: readonly Finding[];
  /** Where the eye is led: the mark, or each beat that may be missing. */
  readonly leads: readonly SampleIndex[];
  /** Most likely first; of missing beats, all of them. Empty where nothing speaks for a change. */
  readonly candidates: readonly Candidate[];
}

/** Suspicions with what it takes to update them after an edit. */
export interface SuspicionTable {
  readonly input: SuspicionInput;
  /** The same without the inside of long gaps: beats, intervals and opinion count on that time line. */
  readonly folded: SuspicionInput;
  readonly beats: BeatTable;
  readonly intervals: Context['intervals'];
  readonly opinion: Context['opinion'];
  /** Suspicions of mark i and of the stretch before it; the last entry is the stretch after the last mark. */
  readonly perMark: readonly (readonly Suspicion[])[];
}

/** Below this a place is not worth a line in the queue. */
const leastScore = 0.002;
/** From this chance of a mistake on a change is suggested: a mark is not touched as lightly as a gap is filled. */
const leastSuggested = { mark: 0.5, gap: 0.35 };

export function suspicions(input: SuspicionInput): Suspicion[] {
  return listed(suspicionTable(input));
}

/**
 * Stretches that a person may call unreadable, as places of their own. Taken from the detected marks, once: they do not
 * come and go while marks are corrected.
 */
export function unreadablePlaces(table: SuspicionTable): Suspicion[] {
  const { features, gaps, secondUnsure } = table.folded;
  const places = unreadableProposals(features, table.beats, gaps, secondUnsure).map((span): Suspicion => {
    const finding = hiddenBeats((span.end - span.start) / features.samplingRateHz);
    const candidates = [{ kind: 'unreadable', at: span.start, end: span.end }] as const;
    const score = mostlyUnreadable;
    return { at: span.start, mark: null, score, findings: [finding], candidates, leads: [span.start] };
  });
  return unfoldedPlaces(table, places);
}

/** Back on the recording's own time line. */
function unfoldedPlaces({ input }: SuspicionTable, places: Suspicion[]): Suspicion[] {
  const { cuts } = input.features;
  if (cuts.length === 0) return places;
  const fold = foldOf(cuts);
  const back = (position: number) => unfolded(fold, position);
  const candidate = (c: Candidate): Candidate => {
    if (c.kind === 'move') return { ...c, at: back(c.at), to: back(c.to) };
    return c.kind === 'unreadable' ? { ...c, at: back(c.at), end: back(c.end) } : { ...c, at: back(c.at) };
  };
  return places.map(s => ({
    ...s,
    at: back(s.at),
    mark: s.mark === null ? null : back(s.mark),
    leads: s.leads.map(back),
    candidates: s.candidates.map(candidate),
  }));
}

/** Share of the proposed stretches of the sample sessions that hide their beats (tests/bench/calibration). */
const mostlyUnreadable = 0.75;

export function listed(table: SuspicionTable): Suspicion[] {
  const out: Suspicion[] = [];
  for (const entry of table.perMark) for (const s of entry) out.push(s);
  return unfoldedPlaces(table, out);
}

export function suspicionTable(input: SuspicionInput): SuspicionTable {
  const folded = foldInput(input, null);
  const blind = blindSpans(folded);
  const beats = beatTable(folded.features, folded.marks);
  const intervals = intervalTable(folded.marks, blind);
  const opinion = secondOpinion(folded, blind);
  const context: Context = { ...folded, beats, intervals, blind, opinion };
  const perMark = Array.from({ length: folded.marks.length + 1 }, (_, i) => atPlace(context, i));
  return { input, folded, beats, intervals, opinion, perMark };
}

/**
 * The table after an edit of marks or of unreadable spans. Only the surroundings of what changed are judged again; when
 * gaps or the second detector change, everything is.
 */
export function updateSuspicions(before: SuspicionTable, input: SuspicionInput): SuspicionTable {
  const old = before.input;
  const sameSecond = old.second === input.second && old.secondChance === input.secondChance;
  const sameSignal = old.features === input.features && sameSecond && old.gaps === input.gaps;
  if (!sameSignal || old.secondUnsure !== input.secondUnsure) return suspicionTable(input);
  const folded = foldInput(input, before);
  const { marks } = folded;
  if (marks.length === 0) return suspicionTable(input);
  const blind = blindSpans(folded);
  const ends = unchanged(before.folded.marks, marks);
  const changed = differing(blindSpans(before.folded), blind);
  const sameMarks = ends.head === before.folded.marks.length && ends.head === marks.length;
  if (sameMarks && changed.length === 0) return { ...before, input, folded };
  const { head, tail } = besideSpans(ends, changed, marks);
  const beats = updateBeatTable(folded.features, before.beats, marks);
  const intervals = updateIntervalTable(before.intervals, marks, blind, head, tail);
  const opinion = updateOpinion(before.opinion, folded, blind, head, tail);
  const context: Context = { ...folded, beats, intervals, blind, opinion };
  const reach = 2 * intervalNeighbours;
  const from = Math.max(0, head - reach);
  const kept = Math.max(0, tail + 1 - reach);
  const fresh: (readonly Suspicion[])[] = [];
  for (let i = from; i < marks.length + 1 - kept; i++) fresh.push(atPlace(context, i));
  const perMark = before.perMark.slice(0, from).concat(fresh, before.perMark.slice(before.perMark.length - kept));
  return { input, folded, beats, intervals, opinion, perMark };
}

interface Ends {
  readonly head: number;
  readonly tail: number;
}

/** What is in one of the two alone. */
function differing(a: readonly Span[], b: readonly Span[]): readonly Span[] {
  return union(subtract(a, b), subtract(b, a));
}

/** How many marks at either end are left as they were by a change of blind spans too. */
function besideSpans({ head, tail }: Ends, changed: readonly Span[], marks: Marks): Ends {
  if (changed.length === 0) return { head, tail };
  const first = lowerBound(marks, changed[0]!.start);
  const behind = marks.length - lowerBound(marks, changed.at(-1)!.end);
  return { head: Math.max(0, Math.min(head, first - 1)), tail: Math.max(0, Math.min(tail, behind - 1)) };
}

const none: readonly Suspicion[] = [];

function atPlace(context: Context, i: number): readonly Suspicion[] {
  const out: Suspicion[] = [];
  for (const missing of missingBefore(context, i)) {
    const score = probability('gap', missing.findings, context.opinion !== null);
    if (score < leastScore) continue;
    const leads = missing.places as readonly SampleIndex[];
    const candidates = score < leastSuggested.gap ? [] : leads.map(at => ({ kind: 'insert', at }) as const);
    out.push({
      at: leads[0]!,
      mark: null,
      score,
      findings: sorted('gap', missing.findings, context),
      candidates,
      leads,
    });
  }
  if (i < context.marks.length) {
    const findings = findingsAtMark(context, i);
    const score = probability('mark', findings, context.opinion !== null);
    const mark = context.marks[i]! as SampleIndex;
    if (findings.length > 0 && score >= leastScore) {
      const candidates = candidatesAt(context, i, score, findings);
      out.push({ at: mark, mark, score, findings: sorted('mark', findings, context), candidates, leads: [mark] });
    }
  }
  return out.length > 0 ? out : none;
}

function sorted(about: About, findings: Finding[], { opinion }: Context): Finding[] {
  const weight = (f: Finding) => weightOf(about, f, opinion !== null);
  return findings.sort((a, b) => weight(b) - weight(a));
}

/**
 * What may be done about a mark, most likely first; nothing where no opinion or interval speaks for it: noise, shape and
 * height alone suggest nothing. All of them stand where they are drawn.
 */
function candidatesAt(context: Context, i: number, score: number, findings: readonly Finding[]): Candidate[] {
  if (score < leastSuggested.mark) return [];
  const mark = context.marks[i]! as SampleIndex;
  const out: Candidate[] = [];
  const add = (to: number) => {
    if (to < 0 || to === mark || (context.marks[i - 1] ?? -1) >= to || (context.marks[i + 1] ?? to + 1) <= to) return;
    if (!out.some(c => c.kind === 'move' && c.to === to)) out.push({ kind: 'move', at: mark, to: to as SampleIndex });
  };
  const has = (reason: ReasonId) => findings.some(f => f.reason === reason);
  const off = context.opinion ? context.opinion.off[i]! : noneHere;
  const elsewhere = off !== noneHere && Math.abs(toMilliseconds(context, off)) > 20;
  const agreed = off !== noneHere && !elsewhere;
  if (elsewhere) add(mark + off);
  const window = Math.round(0.4 * context.features.samplingRateHz);
  if (off === noneHere) for (const s of unmarkedIn(context, mark - window, mark + window + 1)) add(s);
  if (has('off the peak')) add(mark + context.beats.shift[i]!);
  const remove = has('second detector: none here') || (has('short interval') && !agreed);
  if (remove) out.splice(has('second detector: none here') ? 0 : out.length, 0, { kind: 'delete', at: mark });
  return out;
}
