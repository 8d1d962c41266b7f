import type { AppliedClock } from '../../core/report/pairs/recorder-pairs';
import type { Session } from '../../core/review/session';
import type { ReviewWorkspace } from '../review/workspace';

/** One recorder's clock read in another's seconds. */
export interface RecorderClock {
  readonly toAxisSeconds: (recorderSeconds: number) => number;
  readonly fromAxisSeconds: (axisSeconds: number) => number;
}

export interface Clocks {
  /** Where a moment on one recorder's clock lies on another's. */
  between(workspace: ReviewWorkspace, fromId: string, toId: string, seconds: number): number;
  /** The clock of `id` on the axis of `axisId`. */
  map(workspace: ReviewWorkspace, axisId: string, id: string): RecorderClock;
  fitOf(session: Session, recordingId: string): AppliedClock;
  set(session: Session, recordingId: string, fit: AppliedClock): void;
}

/** Clock relations of the open session: from the start times until beats or a person say better. */
export function createClocks(): Clocks {
  const fits = new Map<string, AppliedClock>();
  const key = (session: Session, id: string) => `${session.id}/${id}`;
  const fitOf = (session: Session, id: string) => fits.get(key(session, id)) ?? fromStartTimes(session, id);
  const toReference = (f: AppliedClock, s: number) => (s - f.offsetSeconds) / (1 + f.driftPpm / 1e6);
  const fromReference = (f: AppliedClock, s: number) => f.offsetSeconds + s * (1 + f.driftPpm / 1e6);
  const between = (workspace: ReviewWorkspace, fromId: string, toId: string, seconds: number) => {
    const { session } = workspace.review.get();
    return fromId === toId
      ? seconds
      : fromReference(fitOf(session, toId), toReference(fitOf(session, fromId), seconds));
  };
  return {
    between,
    map: (workspace, axisId, id) => ({
      toAxisSeconds: s => between(workspace, id, axisId, s),
      fromAxisSeconds: s => between(workspace, axisId, id, s),
    }),
    fitOf,
    set: (session, id, value) => fits.set(key(session, id), value),
  };
}

function fromStartTimes(session: Session, id: string): AppliedClock {
  const start = (i: number) => {
    const text = session.recordings[i]?.recording.startedAt;
    return text ? Date.parse(`${text}Z`) / 1000 : Number.NaN;
  };
  const own = session.recordings.findIndex(r => r.recording.id === id);
  const offsetSeconds = start(0) - start(own);
  return { offsetSeconds: Number.isFinite(offsetSeconds) ? offsetSeconds : 0, driftPpm: 0, from: 'start times' };
}
