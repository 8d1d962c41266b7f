import type { Session } from '../../core/review/session';
import type { Desk } from '../review/workspace';

/** One recorder's clock read in another's seconds. */
export interface ClockMap {
  readonly toAxisSec: (recorderSec: number) => number;
  readonly fromAxisSec: (axisSec: number) => number;
}

/** Recorder seconds = offset + pace x reference seconds; the reference is the session's first recorder. */
export interface ClockFit {
  readonly offsetSec: number;
  readonly driftPpm: number;
  /** How it came about: 'start times', 'matched beats' or 'by hand'. */
  readonly from: string;
}

export interface Clocks {
  /** Where a moment on one recorder's clock lies on another's. */
  between(desk: Desk, fromId: string, toId: string, seconds: number): number;
  /** The clock of `id` on the axis of `axisId`. */
  map(desk: Desk, axisId: string, id: string): ClockMap;
  fitOf(session: Session, recordingId: string): ClockFit;
  set(session: Session, recordingId: string, fit: ClockFit): void;
}

/** Clock relations of the open session: from the start times until beats or a person say better. */
export function createClocks(): Clocks {
  const fits = new Map<string, ClockFit>();
  const key = (session: Session, id: string) => `${session.id}/${id}`;
  const fitOf = (session: Session, id: string) => fits.get(key(session, id)) ?? fromStartTimes(session, id);
  const toReference = (f: ClockFit, s: number) => (s - f.offsetSec) / (1 + f.driftPpm / 1e6);
  const fromReference = (f: ClockFit, s: number) => f.offsetSec + s * (1 + f.driftPpm / 1e6);
  const between = (desk: Desk, fromId: string, toId: string, seconds: number) => {
    const { session } = desk.review.get();
    return fromId === toId
      ? seconds
      : fromReference(fitOf(session, toId), toReference(fitOf(session, fromId), seconds));
  };
  return {
    between,
    map: (desk, axisId, id) => ({
      toAxisSec: s => between(desk, id, axisId, s),
      fromAxisSec: s => between(desk, axisId, id, s),
    }),
    fitOf,
    set: (session, id, value) => fits.set(key(session, id), value),
  };
}

function fromStartTimes(session: Session, id: string): ClockFit {
  const start = (i: number) => {
    const text = session.recordings[i]?.recording.startedAt;
    return text ? Date.parse(`${text}Z`) / 1000 : Number.NaN;
  };
  const own = session.recordings.findIndex(r => r.recording.id === id);
  const offsetSec = start(0) - start(own);
  return { offsetSec: Number.isFinite(offsetSec) ? offsetSec : 0, driftPpm: 0, from: 'start times' };
}
