import type { RecordingReview } from '../../marks/edit';
import { type EditLog, replay } from '../../marks/log';
import type { Segment } from '../../recording/recording';
import { settledLogs } from '../raters/settled-logs';
import { detectedOf, type Session, type SessionRecording } from '../session';
import { type Coverage, coverageOf, coverageOfAll } from './coverage';

/**
 * Whose looking a review rests on. A settled log holds answers to differences and hardly any looking of its own: the two
 * raters whose logs it settles have looked, each at all of it.
 */
export interface Looker {
  readonly rater: string;
  readonly recordings: ReadonlyMap<string, RecordingReview>;
}

/** The rater alone, or the two behind a settled log; null when their logs are not among `logs` as they were then. */
export function lookersOf(
  session: Session,
  log: EditLog,
  recordings: ReadonlyMap<string, RecordingReview>,
  logs: readonly EditLog[],
): readonly Looker[] | null {
  const { rater, role } = log.header;
  if (role !== 'adjudicator') return [{ rater, recordings }];
  const settled = settledLogs(log, logs);
  if (!settled) return null;
  const detected = detectedOf(session);
  return [settled.a, settled.b].map(one => ({
    rater: one.header.rater,
    recordings: replay(one, detected).recordings,
  }));
}

export const notHere = 'the two logs it settles are not here';

export interface LookedAt {
  /** Smallest share over those who looked, in [0, 1]; null when their logs are not here. */
  readonly share: number | null;
  readonly by: readonly { readonly rater: string; readonly share: number }[];
}

/** How much of a segment was looked at; of all segments together with null. */
export function lookedAt(item: SessionRecording, lookers: readonly Looker[] | null, segment: Segment | null): LookedAt {
  if (!lookers) return { share: null, by: [] };
  const by = lookers.map(({ rater, recordings }) => ({ rater, share: coverageBy(item, recordings, segment).share }));
  return { share: Math.min(...by.map(b => b.share)), by };
}

function coverageBy(
  item: SessionRecording,
  recordings: ReadonlyMap<string, RecordingReview>,
  segment: Segment | null,
): Coverage {
  const review = recordings.get(item.recording.id)!;
  return segment ? coverageOf(item, review, segment) : coverageOfAll(item, review);
}

/** 'R1', or 'R1 and R2' behind a settled log, with what each looked at where it is not all: 'R1 100.0 %, R2 87.5 %'. */
export function lookedAtWords({ by }: Pick<LookedAt, 'by'>): string {
  if (by.length === 0) return notHere;
  return by.map(({ rater, share }) => `${rater} ${tenthsDown(share)} %`).join(', ');
}

/** Rounds down, so that a part never reads as the whole. */
function tenthsDown(share: number): string {
  return (Math.floor(share * 1000) / 10).toFixed(1);
}
