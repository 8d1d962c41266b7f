import { cohenKappa, type Kappa } from '../agreement/kappa';
import type { MatchSettings } from '../marks/match';
import { raterLabel } from '../review/raters/blind';
import { compareRaters, type SegmentComparison, verdictCategories } from '../review/raters/compare';
import type { Computed } from '../score/result';
import type { ReplayedLog, ReplayedSession } from './counted-review';

/** Two finished reviews of one recording, in numbers. */
export interface RaterAgreementRow {
  readonly session: string;
  readonly volunteer: string;
  readonly recorder: string;
  readonly raterA: string;
  readonly raterB: string;
  /** Null: all segments of the recording together. */
  readonly activity: string | null;
  readonly beatsA: number;
  readonly beatsB: number;
  readonly agreed: number;
  readonly placedApart: number;
  readonly onlyA: number;
  readonly onlyB: number;
  readonly f1: Computed;
  readonly qualityA: Computed;
  readonly qualityB: Computed;
  readonly qualityDifference: Computed;
  readonly kappa: Kappa;
  readonly verdictTable: readonly (readonly number[])[];
  readonly spanJaccard: Computed;
  readonly overSeconds: number | null;
}

export interface RaterAgreement {
  readonly rows: readonly RaterAgreementRow[];
  /** Recordings of the study rated twice, and the sums over them; null without any. */
  readonly total: {
    readonly recordings: number;
    readonly agreed: number;
    readonly placedApart: number;
    readonly onlyA: number;
    readonly onlyB: number;
    readonly f1: Computed;
    readonly kappa: Kappa;
    readonly verdictTable: readonly (readonly number[])[];
  } | null;
}

/** Every pair of finished reviews by raters (not of those who settle, nor of learners). */
export function raterAgreement(sessions: readonly ReplayedSession[], settings: MatchSettings): RaterAgreement {
  const rows = sessions.flatMap(session => {
    const logs = session.logs.filter(({ log, replayed }) => log.header.role === 'rater' && replayed.finished);
    return logs.flatMap((a, i) => logs.slice(i + 1).flatMap(b => pairRows(session, a, b, settings)));
  });
  return { rows, total: totalOf(rows.filter(r => r.activity === null)) };
}

function pairRows({ session }: ReplayedSession, a: ReplayedLog, b: ReplayedLog, settings: MatchSettings) {
  return session.recordings.flatMap(item => {
    const { id, recorder } = item.recording;
    const reviews = { a: a.replayed.recordings.get(id)!, b: b.replayed.recordings.get(id)! };
    const { segments, total } = compareRaters({ item, ...reviews, settings });
    const head = {
      session: session.id,
      volunteer: session.participant,
      recorder,
      raterA: raterLabel(a.log),
      raterB: raterLabel(b.log),
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

function totalOf(rows: readonly RaterAgreementRow[]): RaterAgreement['total'] {
  if (rows.length === 0) return null;
  const sum = (pick: (row: RaterAgreementRow) => number) => rows.reduce((n, row) => n + pick(row), 0);
  const verdictTable = verdictCategories.map((_, i) =>
    verdictCategories.map((__, j) => sum(r => r.verdictTable[i]![j]!)),
  );
  const beats = sum(r => r.beatsA + r.beatsB);
  const agreed = sum(r => r.agreed);
  return {
    recordings: rows.length,
    agreed,
    placedApart: sum(r => r.placedApart),
    onlyA: sum(r => r.onlyA),
    onlyB: sum(r => r.onlyB),
    f1: beats > 0 ? { value: (2 * agreed) / beats, n: beats } : { value: null, reason: 'no beat that both could read' },
    kappa: cohenKappa(verdictTable),
    verdictTable,
  };
}
