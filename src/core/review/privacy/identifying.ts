import type { ReviewedSession, SessionRecording } from '../session';

/** What can be handed on of a session. `marks`: lists of marks and of intervals. */
export type ExportKind = 'results' | 'marks' | 'EDF+' | 'audit' | 'bundle';

/** A value in a session that may lead to a person, what it is, and what it goes into. */
export interface IdentifyingField {
  readonly field: string;
  readonly value: string;
  readonly goesInto: readonly ExportKind[];
}

/** What to do with each kind of what identifies before anything of a session is handed on. */
export interface Handling {
  /**
   * Days by which the dates of recordings and of reviews move; the time of day stays. 'drop' takes date and time away, and
   * reviews begin in 1970.
   */
  readonly dates: 'keep' | 'drop' | { readonly shiftDays: number };
  readonly sources: 'keep' | 'drop';
  /** Codes of participant and raters, title, and the ids of session and recordings. */
  readonly codes: 'keep' | 'drop';
  /** Names of recorders, leads and segments, and the ids of recordings, which are made of them. */
  readonly names: 'keep' | 'drop';
  /** Remarks, flags and reasons in the raters' words. */
  readonly remarks: 'keep' | 'drop';
}

export const keepAll: Handling = { dates: 'keep', sources: 'keep', codes: 'keep', names: 'keep', remarks: 'keep' };

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
  const { id, recorder, startedAt, source, origin, leads } = recording;
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
    field('lead names', leads.map(l => [l.name, l.fileUnit].join(' ').trim()).join(', '), 'EDF+', 'bundle'),
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
