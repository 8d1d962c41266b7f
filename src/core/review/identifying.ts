import type { Recording } from '../recording/recording';
import type { ReviewedSession, Session } from './session';

/** A value in a session that may lead to a person, and what it is. */
export interface IdentifyingField {
  readonly field: string;
  readonly value: string;
}

/** What to do with the dates and file names of the recordings before a session is handed on. */
export interface Handling {
  /** Days by which start dates move; the time of day stays. 'drop' takes date and time away. */
  readonly dates: 'keep' | 'drop' | { readonly shiftDays: number };
  readonly sources: 'keep' | 'drop';
}

export const keepAll: Handling = { dates: 'keep', sources: 'keep' };

/**
 * Everything in a session that may name or lead to a participant or a rater, in the order of the bundle. Marks and signal
 * are not listed: that an ECG itself can tell people apart is for the study's own agreement to weigh.
 */
export function identifyingFields({ session, logs }: ReviewedSession): IdentifyingField[] {
  const found: IdentifyingField[] = [
    { field: 'participant code', value: session.participant },
    { field: 'title', value: session.title },
    { field: 'session id', value: session.id },
  ];
  for (const { recording, segments } of session.recordings) {
    const of = (field: string, value: string) => found.push({ field: `${field} of ${recording.id}`, value });
    of('recorder', recording.recorder);
    if (recording.startedAt !== null) of('start', recording.startedAt);
    of('source file', recording.source);
    of('segment names', segments.map(s => s.name).join(', '));
  }
  for (const { header, entries } of logs) {
    found.push({ field: 'rater code', value: header.rater });
    if (entries.length > 0) {
      found.push({ field: `days of review by ${header.rater}`, value: daysOf(entries.map(e => e.at)) });
    }
    for (const text of writtenTexts(entries)) found.push({ field: `text by ${header.rater}`, value: text });
  }
  return found.filter(f => f.value !== '');
}

function daysOf(times: readonly string[]): string {
  const days = [...new Set(times.map(t => t.slice(0, 10)))].sort();
  return days.length > 1 ? `${days[0]} to ${days.at(-1)}` : days[0]!;
}

/** Comments, flags and reasons; what was taken back is in the log as well. */
function writtenTexts(entries: ReviewedSession['logs'][number]['entries']): Set<string> {
  const texts = new Set<string>();
  const collect = (value: unknown): void => {
    if (value === null || typeof value !== 'object') return;
    for (const [key, part] of Object.entries(value)) {
      if ((key === 'text' || key === 'reason') && typeof part === 'string' && part !== '') texts.add(part);
      else collect(part);
    }
  };
  for (const { change, reason } of entries) {
    if (reason) texts.add(reason);
    collect(change.filter(op => op.op !== 'marks'));
  }
  return texts;
}

/** The session as it is to be handed on. Logs belong to the marks, which stay as they are. */
export function handled(session: Session, handling: Handling): Session {
  return {
    ...session,
    recordings: session.recordings.map(item => ({ ...item, recording: handledRecording(item.recording, handling) })),
  };
}

function handledRecording(recording: Recording, { dates, sources }: Handling): Recording {
  const { startedAt } = recording;
  const source = sources === 'keep' ? recording.source : '';
  if (dates === 'keep' || startedAt === null) return { ...recording, source };
  return { ...recording, source, startedAt: dates === 'drop' ? null : shiftedDate(startedAt, dates.shiftDays) };
}

/** `YYYY-MM-DDTHH:MM:SS[.sss]` moved by whole days. */
function shiftedDate(local: string, days: number): string {
  const date = new Date(`${local.slice(0, 10)}T00:00:00Z`);
  date.setUTCDate(date.getUTCDate() + days);
  return `${date.toISOString().slice(0, 10)}${local.slice(10)}`;
}
