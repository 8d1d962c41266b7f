import type { EditLog } from '../../marks/log';
import type { Session } from '../session';
import { type Handling, keepAll } from './identifying';
import { leaving } from './leaving';
import { renamedLog } from './leaving-log';
import { type ShownNames, shiftedDay } from './leaving-names';

type Pairs = readonly (readonly [own: string, shown: string])[];

/** What a session and its parts were called where they were handed out; kept, so that a review can come back. */
export interface HandedNames {
  readonly session: string;
  readonly recordings: Pairs;
  readonly recorders: Pairs;
  readonly segments: Pairs;
}

export interface HandedSession {
  /** As it leaves. */
  readonly session: Session;
  readonly names: HandedNames;
}

/**
 * Sessions as they are handed out to raters, without any log, by their own ids. `tag` is put before ids that stand for
 * others, as whoever gets two batches keeps both.
 */
export function handedSessions(
  sessions: readonly Session[],
  handling: Handling,
  tag: string,
): ReadonlyMap<string, HandedSession> {
  const all = { sessions, raters: [], study: null };
  const entries = sessions.map((own): readonly [string, HandedSession] => {
    const { session, names } = leaving({ session: own, logs: [] }, handling, all);
    const tagged = { id: `${tag}-${session.id}`, title: `${session.title} (${tag})` };
    const shown = handling.codes === 'drop' ? { ...session, ...tagged } : session;
    const items = own.recordings;
    const pairs = (parts: readonly string[], as: (name: string) => string): Pairs =>
      [...new Set(parts)].map(part => [part, as(part)] as const);
    const handed: HandedNames = {
      session: shown.id,
      recordings: pairs(
        items.map(r => r.recording.id),
        names.recording,
      ),
      recorders: pairs(
        items.map(r => r.recording.recorder),
        names.recorder,
      ),
      segments: pairs(
        items.flatMap(r => r.segments.map(s => s.name)),
        names.segment,
      ),
    };
    return [own.id, { session: shown, names: handed }];
  });
  return new Map(entries);
}

/** What logs are held against: the session as it is kept here, its ids and segments under the names it was handed out with. */
export function underHandedNames(session: Session, { session: id, recordings, segments }: HandedNames): Session {
  const [recording, segment] = [renaming(recordings), renaming(segments)];
  const items = session.recordings.map(item => ({
    ...item,
    recording: { ...item.recording, id: recording(item.recording.id) },
    segments: item.segments.map(s => ({ ...s, name: segment(s.name) })),
  }));
  return { ...session, id, recordings: items };
}

/**
 * A log that was written under those names as a log of the session here: times, rater and everything else stay. The chain
 * is a new one; of a log that went on since, the beginning comes out the same.
 */
export function underOwnNames(
  log: EditLog,
  session: Session,
  { recordings, recorders, segments }: HandedNames,
): EditLog {
  const segment = renaming(turned(segments));
  const names: ShownNames = {
    recording: renaming(turned(recordings)),
    recorder: renaming(turned(recorders)),
    segment: <T extends string | null>(name: T) => (name === null ? name : segment(name)) as T,
    rater: code => code,
    inStudy: null,
  };
  return renamedLog(log, session, keepAll, names);
}

/** What a rater can leave out of a return. Codes, ids and names are those of the assignment, by which it is taken back. */
export type ReturnHandling = Pick<Handling, 'dates' | 'remarks'>;

export const keepAllOfReturn: ReturnHandling = { dates: keepAll.dates, remarks: keepAll.remarks };

/** A review as it goes back. One that went on since begins the same where the same is left out of it. */
export function returnedLog(session: Session, log: EditLog, handling: ReturnHandling): EditLog {
  return leaving({ session, logs: [log] }, { ...keepAll, ...handling }).logs[0]!;
}

/** When a return was made, as it says so itself: ISO 8601 in UTC, '' without dates. */
export function returnedTime(at: string, { dates }: ReturnHandling): string {
  if (dates === 'drop') return '';
  return dates === 'keep' ? at : shiftedDay(at, dates.shiftDays);
}

/** Whatever is kept by recording, from the names it was handed out with back to its own. */
export function byOwnRecordings<T>(given: Readonly<Record<string, T>>, { recordings }: HandedNames): Record<string, T> {
  const own = renaming(turned(recordings));
  return Object.fromEntries(Object.entries(given).map(([id, value]) => [own(id), value]));
}

const turned = (pairs: Pairs): Pairs => pairs.map(([own, shown]) => [shown, own] as const);

function renaming(pairs: Pairs): (name: string) => string {
  const names = new Map(pairs);
  return name => names.get(name) ?? name;
}
