import type { Session } from '../session';
import type { Study } from '../study/study';
import type { Handling } from './identifying';

/** What the parts of a session are called where it leaves. A name that the session does not have becomes `other`. */
export interface ShownNames {
  recording(id: string): string;
  recorder(name: string): string;
  segment<T extends string | null>(name: T): T;
  rater(code: string): string;
  /** Null where the session leaves alone and there is nothing to tell it from. */
  readonly inStudy: { readonly session: string; readonly participant: string; readonly title: string } | null;
}

/** What leaves together, so that one name or code is called the same in all of it. */
export interface LeavingTogether {
  readonly sessions: readonly Session[];
  /** Codes of all whose logs are there. */
  readonly raters: readonly string[];
  readonly study: Pick<Study, 'segmentTemplate' | 'segmentSeconds'> | null;
}

/**
 * Names of one session among those it leaves with. Sessions, participants and raters are numbered in the order of their
 * codes, so that whatever follows that order stays as it was.
 */
export function shownNames(session: Session, all: LeavingTogether, handling: Handling): ShownNames {
  const { codes, names } = handling;
  const both = codes === 'drop' || names === 'drop';
  const items = all.sessions.flatMap(s => s.recordings);
  const activities = [...(all.study?.segmentTemplate ?? []), ...Object.keys(all.study?.segmentSeconds ?? {})];
  const recording = numbered(
    session.recordings.map(r => r.recording.id),
    both ? 'recording-' : null,
  );
  const segment = numbered(
    [...activities, ...items.flatMap(r => r.segments.map(s => s.name))],
    names === 'drop' ? 'segment ' : null,
  );
  return {
    // Acts on the whole review name no recording.
    recording: id => (id === '' ? '' : recording(id)),
    recorder: numbered(
      items.map(r => r.recording.recorder),
      names === 'drop' ? 'recorder ' : null,
    ),
    // The whole of a recording without segments has a name of its own.
    segment: <T extends string | null>(name: T) => (name === null || name === 'whole' ? name : segment(name)) as T,
    rater: numbered([...all.raters].sort(), codes === 'drop' ? 'rater-' : null),
    inStudy: all.study === null && all.sessions.length < 2 ? null : namesInStudy(session, all, codes),
  };
}

function namesInStudy(session: Session, { sessions }: LeavingTogether, codes: Handling['codes']) {
  const ordered = [...sessions].sort((a, b) => compare(a.participant, b.participant) || compare(a.id, b.id));
  const word = (name: string) => (codes === 'drop' ? name : null);
  const id = numbered(
    ordered.map(s => s.id),
    word('session-'),
  );
  const participant = numbered(
    ordered.map(s => s.participant),
    word('volunteer-'),
  );
  return {
    session: id(session.id),
    participant: participant(session.participant),
    title: codes === 'drop' ? id(session.id).replace('session-', 'Session ') : session.title,
  };
}

const compare = (a: string, b: string) => (a < b ? -1 : a > b ? 1 : 0);

/** Numbers have zeros in front as far as needed for their order to be that of the words. */
function numbered(all: readonly string[], word: string | null): (name: string) => string {
  if (word === null) return name => name;
  const names = [...new Set(all)];
  const width = String(names.length).length;
  const places = new Map(names.map((name, i) => [name, String(i + 1).padStart(width, '0')] as const));
  return name => `${word}${places.get(name) ?? 'other'}`;
}

/** `YYYY-MM-DDTHH:MM:SS[.sss]`, with or without a Z, moved by whole days. */
export function shiftedDay(time: string, days: number): string {
  const date = new Date(`${time.slice(0, 10)}T00:00:00Z`);
  date.setUTCDate(date.getUTCDate() + days);
  return `${date.toISOString().slice(0, 10)}${time.slice(10)}`;
}
