import type { ReviewedSession, Session } from '../session';
import type { Study } from '../study/study';
import { type Handling, keepAll } from './identifying';
import { type Leaving, leaving } from './leaving';
import { type LeavingTogether, shownNames } from './leaving-names';

/** Whether anything is left out or moved. */
export function leavesOut(handling: Handling): boolean {
  return Object.entries(keepAll).some(([kind, kept]) => handling[kind as keyof Handling] !== kept);
}

/** The study itself as it leaves: what names its sessions, activities and raters, and what people typed into it. */
export function leavingStudy(study: Study, all: LeavingTogether, handling: Handling): Study {
  const { codes, names, sources, remarks } = handling;
  const shown = (session: Session) => shownNames(session, all, handling);
  const [any] = all.sessions;
  const segment = any ? shown(any).segment : <T extends string | null>(name: T) => name;
  const ids = new Map(all.sessions.map(s => [s.id, shown(s).inStudy?.session ?? s.id]));
  const { segmentSeconds, countedRater, namedFiles, ...rest } = study;
  const hidesFiles = sources === 'drop' || names === 'drop' || codes === 'drop' || handling.dates !== 'keep';
  const times = Object.entries(segmentSeconds ?? {}).map(([name, time]) => [segment(name), time] as const);
  return {
    ...rest,
    ...(codes === 'drop' ? { id: 'study', title: 'Study' } : {}),
    sessions: study.sessions.flatMap((id, i) => ids.get(id) ?? (codes === 'drop' ? `absent-${i + 1}` : id)),
    namingPattern: hidesFiles ? '' : study.namingPattern,
    ...(namedFiles && !hidesFiles ? { namedFiles } : {}),
    segmentTemplate: study.segmentTemplate.map(name => segment(name)),
    protocol: remarks === 'drop' ? '' : study.protocol,
    ...(segmentSeconds ? { segmentSeconds: Object.fromEntries(times) } : {}),
    ...(countedRater ? { countedRater: any ? shown(any).rater(countedRater) : countedRater } : {}),
  };
}

/** By session, then recording, whatever is kept for each: under the names with which they leave. */
export type BySession<T> = Readonly<Record<string, Readonly<Record<string, T>>>>;

/** A session or recording that goes by its new name already, as in an earlier report, keeps it. */
export function leavingClocks<T>(given: BySession<T>, all: LeavingTogether, handling: Handling): BySession<T> {
  const out: Record<string, Record<string, T>> = {};
  for (const session of all.sessions) {
    const names = shownNames(session, all, handling);
    const id = names.inStudy?.session ?? (handling.codes === 'drop' ? 'session' : session.id);
    const own = given[session.id] ?? given[id];
    if (!own) continue;
    const ids = session.recordings.map(r => r.recording.id);
    const named = ids.flatMap(r => {
      const clock = own[r] ?? own[names.recording(r)];
      return clock === undefined ? [] : [[names.recording(r), clock] as const];
    });
    out[id] = Object.fromEntries(named);
  }
  return out;
}

/** Sessions that leave together, in their order, and all that names them. */
export function leavingSessions(
  study: Study | null,
  sessions: readonly ReviewedSession[],
  handling: Handling,
): { readonly all: LeavingTogether; readonly sessions: readonly Leaving[] } {
  const raters = [...new Set(sessions.flatMap(s => s.logs.map(log => log.header.rater)))];
  const all = { sessions: sessions.map(s => s.session), raters, study };
  return { all, sessions: sessions.map(s => leaving(s, handling, all)) };
}
