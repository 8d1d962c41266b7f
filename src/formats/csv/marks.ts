import type { RecordingReview } from '../../core/marks/edit';
import type { EditLog, LogEntry } from '../../core/marks/log';
import type { Marks } from '../../core/marks/markset';
import type { MatchSettings } from '../../core/marks/match';
import { covers, firstEndingAfter, union } from '../../core/marks/spans';
import { Verdict, verdicts } from '../../core/marks/verdicts';
import { changeInWords, factInWords } from '../../core/report/change-words';
import type { Session, SessionRecording } from '../../core/review/session';
import type { Looker } from '../../core/review/standing/looked-at';
import type { ReviewedScore } from '../../core/review/standing/reviewed-score';
import { IntervalOutcome } from '../../core/score/intervals';
import type { Span } from '../../core/units';
import { type Cell, csvText } from './csv';

/** One column, `sample`: for marks that carry nothing else. */
export function marksColumnCsv(marks: Marks): string {
  return csvText(
    ['sample'],
    Array.from(marks, m => [m]),
  );
}

/**
 * Reviewed marks, one a row: `sample,time_s,verdict,detected_sample`. The verdict is kept, refined, moved, inserted or
 * unreadable, and "not looked at" for a mark as it came that nobody has judged; `detected_sample` is where the recorder had
 * the mark, empty for one it did not have. `lookers` are those whose looking the review rests on.
 */
export function reviewedMarksCsv(
  item: SessionRecording,
  review: RecordingReview,
  settings: MatchSettings,
  lookers: readonly Looker[] | null,
): string {
  const { samplingRateHz, gaps } = item.recording;
  const excluded = union(review.unreadable, gaps);
  const looked = lookers?.map(({ recordings }) => recordings.get(item.recording.id)!.accepted);
  // Whether a settled review's raters looked is not known without their logs.
  const isJudged = (mark: number) => looked?.every(accepted => covers(accepted, mark)) ?? true;
  const found = verdicts(item.detected, review.marks, excluded, samplingRateHz, settings);
  const rows = Array.from(review.marks, (mark, k): Cell[] => {
    const j = found.detectedOf[k]!;
    const verdict = found.ofReviewed[k]!;
    const unseen = verdict === Verdict.kept && !isJudged(mark);
    return [
      mark,
      mark / samplingRateHz,
      unseen ? 'not looked at' : Verdict[verdict]!,
      j === -1 ? null : item.detected[j]!,
    ];
  });
  return csvText(['sample', 'time_s', 'verdict', 'detected_sample'], rows);
}

const causes: Record<IntervalOutcome, string> = {
  [IntervalOutcome.across]: 'unreadable between',
  [IntervalOutcome.right]: '',
  [IntervalOutcome.missed]: 'missed',
  [IntervalOutcome.wrongPeak]: 'wrong peak',
  [IntervalOutcome.extra]: 'extra',
};

/**
 * RR intervals between consecutive reviewed beats outside unreadable spans: `start_sample,start_s,rr_ms,judged,right,
 * cause,segment`. An interval with something unreadable between its beats, not inside one segment, or in a part that was
 * not looked at, is not judged and has no yes or no under `right`.
 */
export function rrIntervalsCsv(score: ReviewedScore): string {
  const { matching, outcomes, input } = score;
  const { beats } = matching;
  const rateHz = input.samplingRateHz;
  const rows = Array.from(outcomes, (outcome, k): Cell[] => {
    const start = beats[k]!;
    const within = score.segments.find(({ segment: s }) => s.start <= start && beats[k + 1]! < s.end);
    const isAcross = outcome === IntervalOutcome.across;
    const looked = within !== undefined && isInside(within.counted, start, beats[k + 1]!);
    const judged = !isAcross && looked;
    const right = judged ? outcome === IntervalOutcome.right : null;
    const unjudged = within ? 'not looked at' : 'not in one segment';
    const cause = judged || isAcross ? causes[outcome as IntervalOutcome] : unjudged;
    return [
      start,
      start / rateHz,
      ((beats[k + 1]! - start) * 1000) / rateHz,
      judged,
      right,
      cause,
      within?.segment.name ?? '',
    ];
  });
  return csvText(['start_sample', 'start_s', 'rr_ms', 'judged', 'right', 'cause', 'segment'], rows);
}

/** Whether both beats lie in one piece of a normalised list. */
function isInside(pieces: readonly Span[], start: number, end: number): boolean {
  const piece = pieces[firstEndingAfter(pieces, start)];
  return piece !== undefined && piece.start <= start && end < piece.end;
}

/** Spans in samples, half-open: `start,end`. */
export function spansCsv(spans: readonly Span[]): string {
  return csvText(
    ['start', 'end'],
    spans.map(s => [s.start, s.end]),
  );
}

/**
 * The audit trail of one log, one entry a row. `what` says in words what changed; `state` is 'undone' for an entry that
 * was taken back and not done again.
 */
export function auditTrailCsv(session: Session, log: EditLog): string {
  const rates = new Map(session.recordings.map(r => [r.recording.id, r.recording.samplingRateHz]));
  const undone = undoneEntries(log.entries);
  const rows = log.entries.map((e): Cell[] => [
    e.seq,
    e.at,
    log.header.rater,
    e.recording,
    e.intent,
    [changeInWords(e.change, rates.get(e.recording) ?? 1), e.fact ? factInWords(e.fact) : '']
      .filter(words => words !== '')
      .join('; '),
    e.undoes ?? null,
    e.redoes ?? null,
    undone.has(e.seq) ? 'undone' : '',
    e.reason ?? '',
    e.origin ?? '',
    e.hash,
  ]);
  const head = 'seq,at,rater,recording,intent,what,undoes,redoes,state,reason,origin,hash'.split(',');
  return csvText(head, rows);
}

function undoneEntries(entries: readonly LogEntry[]): ReadonlySet<number> {
  const undone = new Set<number>();
  for (const e of entries) {
    if (e.undoes !== undefined) undone.add(e.undoes);
    if (e.redoes !== undefined) undone.delete(e.redoes);
  }
  return undone;
}
