import type { ReviewedSession } from '../session';
import type { Handling } from './identifying';

/** What the parts of a session are called where it leaves. A name that the session does not have is told as `other`. */
export interface ShownNames {
  recording(id: string): string;
  recorder(name: string): string;
  segment<T extends string | null>(name: T): T;
  rater(code: string): string;
}

export function shownNames({ session, logs }: ReviewedSession, { codes, names }: Handling): ShownNames {
  const { recordings } = session;
  const both = codes === 'drop' || names === 'drop';
  const recorders = [...new Set(recordings.map(r => r.recording.recorder))];
  const segments = [...new Set(recordings.flatMap(r => r.segments.map(s => s.name)))];
  const raters = logs.map(log => log.header.rater).sort();
  const recording = numbered(
    recordings.map(r => r.recording.id),
    both ? 'recording-' : null,
  );
  const segment = numbered(segments, names === 'drop' ? 'segment ' : null);
  return {
    // Acts on the whole review name no recording.
    recording: id => (id === '' ? '' : recording(id)),
    recorder: numbered(recorders, names === 'drop' ? 'recorder ' : null),
    // The whole of a recording without segments has a name of its own.
    segment: <T extends string | null>(name: T) => (name === null || name === 'whole' ? name : segment(name)) as T,
    rater: numbered(raters, codes === 'drop' ? 'rater-' : null),
  };
}

function numbered(names: readonly string[], word: string | null): (name: string) => string {
  if (word === null) return name => name;
  const places = new Map(names.map((name, i) => [name, i + 1] as const));
  return name => `${word}${places.get(name) ?? 'other'}`;
}

/** `YYYY-MM-DDTHH:MM:SS[.sss]`, with or without a Z, moved by whole days. */
export function shiftedDay(time: string, days: number): string {
  const date = new Date(`${time.slice(0, 10)}T00:00:00Z`);
  date.setUTCDate(date.getUTCDate() + days);
  return `${date.toISOString().slice(0, 10)}${time.slice(10)}`;
}
