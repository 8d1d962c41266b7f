import type { Marks } from '../../core/marks/markset';
import type { Span } from '../../core/units';
import type { AnnotationUse, EdfAnnotation } from '../../formats/edf/annotations';
import type { FileFormat } from '../../formats/open';
import type { Opened } from '../../formats/opened';
import type { RawLayout } from '../../formats/raw/raw';
import type { TextAsked, TextColumn, TextLayout } from '../../formats/text/layout';
import type { MarksLayout, ReadMarks } from '../../formats/text/marks';
import type { ReadSegments, SegmentsLayout } from '../../formats/text/segments';
import type { PreparedFile } from '../../workers/import-jobs';
import type { FoundLead } from '../../workers/lead-jobs';

/** What a file of an import is taken for. */
export type Meaning =
  | 'edf'
  | 'ishne'
  | 'annotations'
  | 'text-signal'
  | 'raw'
  | 'text-marks'
  | 'text-segments'
  | 'left out';

export const meaningWords: Readonly<Record<Meaning, string>> = {
  edf: 'signal, EDF or EDF+',
  ishne: 'signal, ISHNE 1.0',
  'text-signal': 'signal, text table',
  raw: 'signal, raw binary',
  'text-marks': 'detected marks',
  'text-segments': 'segments',
  annotations: 'annotations of an EDF+ file only',
  'left out': 'leave this file out',
};

/** One file of an import, as far as the person and the readers have come with it. */
export interface ImportRow {
  readonly id: number;
  readonly file: File;
  readonly stage: 'looking' | 'asked' | 'reading' | 'read';
  /** Why it cannot be read, in words. */
  readonly problem: string | null;
  readonly meaning: Meaning;
  /** What its bytes look like and why, in words. */
  readonly why: string;
  readonly looked: PreparedFile | null;
  readonly asked: TextAsked;
  readonly text: TextLayout | null;
  readonly raw: RawLayout;
  readonly marks: MarksLayout | null;
  readonly segments: SegmentsLayout | null;
  readonly recorder: string;
  /** Row whose recording marks, segments or annotations belong to; null for every recorder. */
  readonly belongsTo: number | null;
  /** The person said so: nothing found in names changes it. */
  readonly ownerChosen: boolean;
  readonly keepPatient: boolean;
  /** Lead under review as the person chose it; null: the one that looks most like an ECG. */
  readonly ecgLead: number | null;
  readonly share: number | null;
  readonly secondsLeft: number | null;
  /** Of a signal that has been read and stored. */
  readonly read: ReadSignal | null;
}

export interface ReadSignal {
  readonly opened: Opened;
  readonly annotations: readonly EdfAnnotation[];
  readonly fileSha256: string;
}

/** A list read for one recording. */
export interface Listed<T> {
  readonly fileName: string;
  readonly list: T;
}

export interface BuiltInMarks {
  readonly samples: Int32Array;
  /** As in a sentence: 'lead II', 'leads II and V5'. */
  readonly leads: string;
  readonly unsureSeconds: number;
  readonly unsureSpans: number;
}

/** One recorder of the session to be: what was read for it, to be confirmed. */
export interface ImportedRecorder {
  readonly row: number;
  /** On the clock of the lead under review. */
  readonly opened: Opened;
  readonly lead: FoundLead;
  readonly fileSha256: string;
  /** Doubts that were shown before the files were read. */
  readonly accepted: readonly string[];
  /** The file's own, and those of annotation files that belong to it, on its time line. */
  readonly annotations: readonly EdfAnnotation[];
  /** What the person wants annotations of a text read as, where it differs from what they look like. */
  readonly uses: ReadonlyMap<string, AnnotationUse>;
  readonly marks: Listed<ReadMarks> | null;
  readonly segments: readonly Listed<ReadSegments>[];
  readonly builtIn: BuiltInMarks | null;
  /** What marks of the files are held against; null where nothing could be found. */
  readonly beats: FoundBeats | null;
}

/** Beats that the built-in detector finds in a part of the recording; samples at its rate. */
export interface FoundBeats {
  readonly samples: Marks;
  readonly within: Span;
}

export const isSignal = (row: ImportRow) =>
  row.meaning === 'edf' || row.meaning === 'ishne' || row.meaning === 'text-signal' || row.meaning === 'raw';

/** Asked for in full: a raw file says nothing about itself. */
const unknownRaw: RawLayout = {
  encoding: 'int16',
  littleEndian: true,
  samplingRateHz: Number.NaN,
  leads: ['A'],
  unitsPerMv: Number.NaN,
  offset: 0,
  headerBytes: 0,
};

export function newRow(id: number, file: File): ImportRow {
  return {
    id,
    file,
    stage: 'looking',
    problem: null,
    meaning: 'left out',
    why: '',
    looked: null,
    asked: {},
    text: null,
    raw: unknownRaw,
    marks: null,
    segments: null,
    recorder: '',
    belongsTo: null,
    ownerChosen: false,
    keepPatient: false,
    ecgLead: null,
    share: null,
    secondsLeft: null,
    read: null,
  };
}

const confidenceWords = { certain: 'is', likely: 'looks like', guess: 'may be' } as const;

/** Takes over what a look has found. */
export function rowAfterLook(row: ImportRow, looked: PreparedFile, as: FileFormat | null): ImportRow {
  const { sniffed } = looked;
  const format = as ?? sniffed.format;
  const meaning: Meaning =
    format === 'bundle' ? 'left out' : format === 'edf' && looked.leads?.length === 0 ? 'annotations' : format;
  const plain = meaningWords[sniffed.format === 'bundle' ? 'left out' : sniffed.format];
  return {
    ...row,
    stage: 'asked',
    problem: null,
    meaning,
    why: `It ${confidenceWords[sniffed.confidence]}: ${plain}; ${sniffed.why}.`,
    looked,
    text: looked.text,
    marks: looked.marks,
    segments: looked.segments,
    recorder: row.recorder || looked.recorder || row.file.name.replace(/\.[^.]*$/, ''),
    read: null,
  };
}

/** What is missing before the file can be read; null when nothing is. */
export function missingIn(row: ImportRow): string | null {
  if (row.meaning === 'text-signal' && !((row.text?.samplingRateHz ?? 0) > 0)) return 'Give the sampling rate.';
  if (row.meaning === 'text-signal' && !row.text?.columns.some(c => c.role === 'value'))
    return 'Choose at least one column as signal.';
  if (row.meaning === 'text-signal') return unscaledIn(row.text!.columns);
  if (row.meaning !== 'raw') return null;
  if (!(row.raw.samplingRateHz > 0)) return 'Give the sampling rate.';
  return Number.isFinite(row.raw.unitsPerMv) && row.raw.unitsPerMv !== 0 ? null : 'Give how many units make 1 mV.';
}

/** Counts without a gain and a zero have no scale. */
function unscaledIn(columns: readonly TextColumn[]): string | null {
  const bad = columns.find(
    c => c.role === 'value' && !(Number.isFinite(c.mvPerUnit) && c.mvPerUnit !== 0 && Number.isFinite(c.zero ?? 0)),
  );
  return bad ? `Give how many counts of ${bad.name} make 1 mV, and which count is 0 mV.` : null;
}
