import type { Origin, Recording } from '../recording/recording';
import type { ReviewedSession, Session, SessionRecording } from './session';

/** What can be handed on of a session. `marks`: lists of marks and of intervals. */
export type ExportKind = 'results' | 'marks' | 'EDF+' | 'audit' | 'bundle';

/** A value in a session that may lead to a person, what it is, and what it goes into. */
export interface IdentifyingField {
  readonly field: string;
  readonly value: string;
  readonly goesInto: readonly ExportKind[];
}

/** What to do with dates, file names and codes before anything of a session is handed on. */
export interface Handling {
  /** Days by which start dates move; the time of day stays. 'drop' takes date and time away. */
  readonly dates: 'keep' | 'drop' | { readonly shiftDays: number };
  readonly sources: 'keep' | 'drop';
  /** Participant code and title; outside bundles, where logs are tied to it, the session id as well. */
  readonly codes: 'keep' | 'drop';
}

export const keepAll: Handling = { dates: 'keep', sources: 'keep', codes: 'keep' };

/** What stands for a participant code that was left out: EDF+'s own sign for unknown. */
const noCode = 'X';

/**
 * Everything in a session that may name or lead to a participant or a rater, in the order of the bundle. Marks and signal
 * are not listed: that an ECG itself can tell people apart is for the study's own agreement to weigh.
 */
export function identifyingFields({ session, logs }: ReviewedSession): IdentifyingField[] {
  const found: IdentifyingField[] = [
    { field: 'participant code', value: session.participant, goesInto: ['results', 'EDF+', 'bundle'] },
    { field: 'title', value: session.title, goesInto: ['results', 'bundle'] },
    { field: 'session id, also in file names', value: session.id, goesInto: everywhere },
    ...session.recordings.flatMap(fieldsOfRecording),
    ...logs.flatMap(fieldsOfLog),
  ];
  return found.filter(f => f.value !== '');
}

const everywhere: readonly ExportKind[] = ['results', 'marks', 'EDF+', 'audit', 'bundle'];

function fieldsOfRecording({ recording, detectedBy, segments }: SessionRecording): IdentifyingField[] {
  const { id, recorder, startedAt, source, origin } = recording;
  const field = (name: string, value: string, ...goesInto: ExportKind[]) => ({
    field: `${name} of ${id}`,
    value,
    goesInto,
  });
  return [
    { field: 'recording id, also in file names', value: id, goesInto: everywhere },
    field('recorder', recorder, 'results', 'EDF+', 'bundle'),
    field('start', startedAt ?? '', 'results', 'EDF+', 'bundle'),
    field('source file', source, 'results', 'bundle'),
    field('doubts when it was read', [...(origin?.doubts ?? []), ...(origin?.leftOut ?? [])].join(' '), 'bundle'),
    field('origin of the marks', detectedBy, 'results', 'bundle'),
    field('segment names', segments.map(s => s.name).join(', '), 'results', 'marks', 'EDF+', 'bundle'),
  ];
}

function fieldsOfLog({ header, entries }: ReviewedSession['logs'][number]): IdentifyingField[] {
  const { rater } = header;
  const days = entries.length > 0 ? daysOf(entries.map(e => e.at)) : '';
  const goesInto: ExportKind[] = ['results', 'audit', 'bundle'];
  return [
    { field: 'rater code, also in file names', value: rater, goesInto: everywhere },
    { field: `days of review by ${rater}`, value: days, goesInto },
    ...[...writtenTexts(entries)].map(value => ({ field: `text by ${rater}`, value, goesInto })),
  ];
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

/**
 * The session as it is to be handed on. Logs belong to the marks, which stay as they are, and to the session's id, which
 * stays in a bundle.
 */
export function handled(session: Session, handling: Handling, into: 'bundle' | 'other files'): Session {
  const codes = handling.codes === 'drop' ? { participant: noCode, title: 'Session' } : {};
  const id = handling.codes === 'drop' && into === 'other files' ? { id: 'session' } : {};
  return {
    ...session,
    ...codes,
    ...id,
    recordings: session.recordings.map(item => ({
      ...item,
      recording: handledRecording(item.recording, handling),
      detectedBy: handling.sources === 'drop' ? handledOrigin(item) : item.detectedBy,
    })),
  };
}

/** Marks read from a list are said to come from its file. */
function handledOrigin({ recording, detectedBy }: SessionRecording): string {
  const known =
    detectedBy.startsWith(recording.recorder) || /^(the recorder|(built-in|simulated) detector)/.test(detectedBy);
  return known ? detectedBy : 'a list of marks';
}

function handledRecording(recording: Recording, { dates, sources }: Handling): Recording {
  const { startedAt } = recording;
  const { origin } = recording;
  const left = sources === 'keep' ? {} : { source: '', ...(origin && { origin: handledSource(origin) }) };
  if (dates === 'keep' || startedAt === null) return { ...recording, ...left };
  return { ...recording, ...left, startedAt: dates === 'drop' ? null : shiftedDate(startedAt, dates.shiftDays) };
}

/** The checksum leads to the file, and doubts quote from it: their number is kept. */
function handledSource({ format, signalSha256, doubts, leftOut }: Origin): Origin {
  const counted = (texts: readonly string[]) => (texts.length === 0 ? [] : [`${texts.length}, wording left out`]);
  return { format, fileSha256: '', signalSha256, doubts: counted(doubts), leftOut: counted(leftOut) };
}

/** `YYYY-MM-DDTHH:MM:SS[.sss]` moved by whole days. */
function shiftedDate(local: string, days: number): string {
  const date = new Date(`${local.slice(0, 10)}T00:00:00Z`);
  date.setUTCDate(date.getUTCDate() + days);
  return `${date.toISOString().slice(0, 10)}${local.slice(10)}`;
}
