import type { SegmentRow, SessionTableRow } from './rows';
import { hasNumber } from './without-number';

/** From who took part to who is in the numbers: every step with what it lost and why. */
export interface FlowStep {
  readonly step: 'enrolled' | 'recorded' | 'reviewed' | 'analysed';
  readonly volunteers: number;
  readonly sessions: number;
  /** Recorded hours of these sessions, over all recorders; null before anything is recorded. */
  readonly hours: number | null;
  /** Sessions of the step before that are not in this one. */
  readonly lost: readonly { readonly session: string; readonly volunteer: string | null; readonly reason: string }[];
}

export interface FlowInput {
  /** Ids of the study's sessions, in its order; of sessions without a study, those that are here. */
  readonly enrolled: readonly string[];
  readonly sessions: readonly SessionTableRow[];
  readonly segments: readonly SegmentRow[];
  /** The rater whose review counts where none is adjudicated; null for the first by code. */
  readonly countedRater: string | null;
}

/** The steps in order; what one has is what the one before had less what it lost. */
export function reportFlow({ enrolled, sessions, segments, countedRater }: FlowInput): FlowStep[] {
  const byId = new Map(sessions.map(s => [s.session, s] as const));
  const ids = [...new Set([...enrolled, ...byId.keys()])];
  const sampled = new Set(segments.filter(s => s.standing.status === 'sampled').map(s => s.session));
  const final = new Set(segments.filter(s => s.standing.status === 'final').map(s => s.session));
  const counted = new Set(segments.filter(hasNumber).map(s => s.session));
  const recorded = ids.filter(id => byId.get(id)?.recordings.some(r => r.seconds > 0));
  const reviewed = recorded.filter(id => byId.get(id)!.source !== null);
  const analysed = reviewed.filter(id => counted.has(id));
  const noReview =
    countedRater === null ? 'no finished review' : `no adjudicated review, and no finished one by ${countedRater}`;
  const at = (
    step: FlowStep['step'],
    now: readonly string[],
    before: readonly string[],
    reasonOf: (id: string) => string,
  ) => {
    const rows = now.flatMap(id => byId.get(id) ?? []);
    // Who a session that is not here was of is not known: it counts as a volunteer of its own.
    const volunteers = new Set(now.map(id => byId.get(id)?.volunteer ?? id)).size;
    const seconds = rows.flatMap(r => r.recordings).reduce((sum, r) => sum + r.seconds, 0);
    const lost = before
      .filter(id => !now.includes(id))
      .map(id => ({ session: id, volunteer: byId.get(id)?.volunteer ?? null, reason: reasonOf(id) }));
    return { step, volunteers, sessions: now.length, hours: step === 'enrolled' ? null : seconds / 3600, lost };
  };
  return [
    at('enrolled', ids, ids, () => ''),
    at('recorded', recorded, ids, id => (byId.has(id) ? 'no signal' : 'the session is not here')),
    at('reviewed', reviewed, recorded, id => (byId.get(id)?.damagedLogs ? `${noReview}; a log is damaged` : noReview)),
    at('analysed', analysed, reviewed, id =>
      sampled.has(id)
        ? 'reviewed as a sample: quality alone, in a table of its own'
        : final.has(id)
          ? 'no interval to judge'
          : 'no segment whose review is complete',
    ),
  ];
}

/** 'Of 9 volunteers enrolled, 8 were recorded (8.0 h), ...; left out: V05 (no finished review).' */
export function flowText(flow: readonly FlowStep[]): string {
  const [enrolled, ...later] = flow;
  const parts = later.map(
    s => `${s.volunteers} ${s.volunteers === 1 ? 'was' : 'were'} ${s.step} (${s.hours!.toFixed(1)} h)`,
  );
  const lost = flow.flatMap(s => s.lost).map(l => `${l.volunteer ?? l.session} (${l.reason})`);
  const left = lost.length > 0 ? `; left out: ${lost.join(', ')}` : '';
  return `Of ${enrolled!.volunteers} ${enrolled!.volunteers === 1 ? 'volunteer' : 'volunteers'} enrolled, ${parts.join(', ')}${left}.`;
}
