import { type ClusteredKappa, clusteredKappa } from '../../agreement/clustered-kappa';
import type { MatchSettings } from '../../marks/match';
import { raterLabel } from '../../review/raters/blind';
import {
  compareRaters,
  isSameRater,
  oneSpelling,
  raterOf,
  type SegmentComparison,
  verdictCategories,
} from '../../review/raters/compare';
import type { Computed } from '../../score/result';
import type { ReplayedLog, ReplayedSession } from '../counted-review';

/** Two finished reviews of one recording, in numbers. */
export interface RaterAgreementRow extends Omit<SegmentComparison, 'segment'> {
  readonly session: string;
  readonly volunteer: string;
  readonly recordingId: string;
  readonly recorder: string;
  readonly raterA: string;
  readonly raterB: string;
  /** The rater, where both reviews are of one rater at two times; else null. */
  readonly repeatedBy: string | null;
  /** Null: all segments of the recording together. */
  readonly activity: string | null;
}

export interface RaterAgreement {
  readonly rows: readonly RaterAgreementRow[];
  /** Recordings of the study rated by two or more, and the sums over all pairs of ratings; null without any. */
  readonly total: {
    readonly recordings: number;
    /** More than recordings where one has three ratings or more. */
    readonly pairs: number;
    readonly agreed: number;
    readonly placedApart: number;
    readonly onlyA: number;
    readonly onlyB: number;
    readonly f1: Computed;
    readonly kappa: ClusteredKappa;
  } | null;
  /** Each rater who rated sessions again, first rating against a later one. */
  readonly repeated: readonly RepeatedRating[];
}

/** Agreement of one rater with their own earlier ratings, over the recordings rated again. */
export interface RepeatedRating {
  readonly rater: string;
  readonly volunteers: number;
  readonly recordings: number;
  /** Of the first rating and a later one. */
  readonly pairs: number;
  readonly agreed: number;
  readonly onlyFirst: number;
  readonly onlyLater: number;
  readonly placedApart: number;
  readonly f1: Computed;
  readonly kappa: ClusteredKappa;
  /** Quality by the later rating minus that by the first, mean over recordings, in percentage points. */
  readonly qualityChange: Computed;
}

/**
 * Finished reviews by raters (not by those who settle, nor by learners): every pair of raters by their first rating of a
 * session, and each later rating against the first one of the same rater.
 */
export function raterAgreement(sessions: readonly ReplayedSession[], settings: MatchSettings): RaterAgreement {
  const asSigned = sessions.flatMap(session =>
    pairsOf(session.logs).flatMap(([a, b]) => pairRows(session, a, b, settings)),
  );
  // Whoever signed as R1 here and as r1 there is one rater over all sessions.
  const spelled = oneSpelling(asSigned.flatMap(r => r.repeatedBy ?? []));
  const rows = asSigned.map(r => (r.repeatedBy === null ? r : { ...r, repeatedBy: spelled(r.repeatedBy) }));
  const whole = rows.filter(r => r.activity === null);
  const raters = [...new Set(whole.flatMap(r => r.repeatedBy ?? []))].sort();
  return {
    rows,
    total: totalOf(whole.filter(r => r.repeatedBy === null)),
    repeated: raters.map(rater =>
      repeatedRating(
        rater,
        whole.filter(r => r.repeatedBy === rater),
      ),
    ),
  };
}

type Pair = readonly [first: ReplayedLog, second: ReplayedLog];

function pairsOf(all: readonly ReplayedLog[]): Pair[] {
  const logs = all.filter(({ log, replayed }) => log.header.role === 'rater' && replayed.finished);
  const first = logs.filter(l => earliest(logs.filter(o => isSameRater(o.log.header, l.log.header))) === l);
  const between = first.flatMap((a, i) => first.slice(i + 1).map((b): Pair => [a, b]));
  const within = first.flatMap(a =>
    logs.flatMap((b): Pair[] => (b !== a && isSameRater(a.log.header, b.log.header) ? [[a, b]] : [])),
  );
  return [...between, ...within];
}

/** The first rating of one rater: `R1` before `R1.2`; of `R1` and `r1` the one that was begun first. */
const earliest = (logs: readonly ReplayedLog[]) => logs.reduce((a, b) => (isBefore(b, a) ? b : a));
const isBefore = (a: ReplayedLog, b: ReplayedLog) => turn(a) < turn(b) || (turn(a) === turn(b) && begun(a) < begun(b));
const begun = ({ log }: ReplayedLog) => Date.parse(log.entries[0]?.at ?? '');
const turn = ({ log }: ReplayedLog) => Number(/\.(\d+)$/.exec(log.header.rater)?.[1] ?? 1);

function pairRows({ session }: ReplayedSession, a: ReplayedLog, b: ReplayedLog, settings: MatchSettings) {
  return session.recordings.flatMap(item => {
    const { id, recorder } = item.recording;
    const reviews = { a: a.replayed.recordings.get(id)!, b: b.replayed.recordings.get(id)! };
    const { segments, total } = compareRaters({ item, ...reviews, settings });
    const head = {
      session: session.id,
      volunteer: session.participant,
      recordingId: id,
      recorder,
      raterA: raterLabel(a.log),
      raterB: raterLabel(b.log),
      repeatedBy: isSameRater(a.log.header, b.log.header) ? raterOf(a.log.header.rater) : null,
    };
    return [
      ...segments.map(s => ({ ...head, activity: s.segment.name, ...numbersOf(s) })),
      { ...head, activity: null, ...numbersOf(total) },
    ];
  });
}

function numbersOf(s: SegmentComparison) {
  const { segment: _, ...numbers } = s;
  return numbers;
}

type Total = NonNullable<RaterAgreement['total']>;

function totalOf(rows: readonly RaterAgreementRow[]): Total | null {
  if (rows.length === 0) return null;
  const sum = (pick: (row: RaterAgreementRow) => number) => rows.reduce((n, row) => n + pick(row), 0);
  const beats = sum(r => r.beatsA + r.beatsB);
  const agreed = sum(r => r.agreed);
  return {
    recordings: new Set(rows.map(r => `${r.session}\n${r.recordingId}`)).size,
    pairs: rows.length,
    agreed,
    placedApart: sum(r => r.placedApart),
    onlyA: sum(r => r.onlyA),
    onlyB: sum(r => r.onlyB),
    f1: beats > 0 ? { value: (2 * agreed) / beats, n: beats } : { value: null, reason: 'no beat that both could read' },
    kappa: clusteredKappa(volunteersOf(rows).map(v => verdictsOf(rows.filter(r => r.volunteer === v)))),
  };
}

const volunteersOf = (rows: readonly RaterAgreementRow[]) => [...new Set(rows.map(r => r.volunteer))];

const verdictsOf = (rows: readonly RaterAgreementRow[]) =>
  verdictCategories.map((_, i) =>
    verdictCategories.map((__, j) => rows.reduce((n, r) => n + r.verdictTable[i]![j]!, 0)),
  );

function repeatedRating(rater: string, rows: readonly RaterAgreementRow[]): RepeatedRating {
  const { onlyA: onlyFirst, onlyB: onlyLater, ...total } = totalOf(rows)!;
  const changes = rows.flatMap(r => (r.qualityDifference.value === null ? [] : [-r.qualityDifference.value]));
  const qualityChange: Computed =
    changes.length > 0
      ? { value: changes.reduce((a, b) => a + b, 0) / changes.length, n: changes.length }
      : { value: null, reason: 'no quality by both ratings' };
  return { rater, volunteers: volunteersOf(rows).length, ...total, onlyFirst, onlyLater, qualityChange };
}
