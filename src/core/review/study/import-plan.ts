import type { NamedFile } from './naming';

/** What many files become in a study: names say whose each is, contents say what it is. Nothing is read for this. */

export type FileKind = 'signal' | 'marks' | 'segments' | 'annotations' | 'bundle';

export interface FileToPlan {
  readonly path: string;
  /** The person may leave any file out. */
  readonly wanted: boolean;
  /** Null when the name does not fit the pattern. */
  readonly named: NamedFile | null;
  /** Null while it is looked at, or when nothing can be made of it. */
  readonly kind: FileKind | null;
  /** Why nothing can be made of it. */
  readonly problem: string | null;
}

export interface FilePlace {
  /** In words: 'recording of the chest band', 'marks of V01, chest band', or why it is left out. */
  readonly becomes: string;
  readonly use: 'import' | 'left out' | 'unclear';
}

/** One recording to be, with the places of its files in the list. */
export interface PlannedRecording {
  readonly participant: string;
  readonly recorder: string;
  readonly activity: string | null;
  /** Of the file's name; recordings of two days make two sessions. */
  readonly date: string | null;
  readonly signal: number;
  readonly marks: number | null;
  readonly segments: readonly number[];
  readonly annotations: readonly number[];
}

export interface ImportPlan {
  /** One for each file, in order. */
  readonly places: readonly FilePlace[];
  readonly recordings: readonly PlannedRecording[];
  readonly bundles: readonly number[];
}

/** A recorder that no name tells. */
const onlyRecorder = 'recorder';

interface Draft extends PlannedRecording {
  marks: number | null;
  readonly segments: number[];
  readonly annotations: number[];
}

export function planImport(files: readonly FileToPlan[]): ImportPlan {
  const places: FilePlace[] = files.map(firstPlace);
  const usable = (kind: FileKind) =>
    files.flatMap((f, i) => (f.kind === kind && places[i]!.use === 'import' ? [{ i, named: f.named! }] : []));
  const drafts = draftsOf(usable('signal'), files, places);
  for (const kind of ['marks', 'annotations', 'segments'] as const) {
    for (const { i, named } of usable(kind)) places[i] = placeList(kind, i, named, drafts, files);
  }
  const bundles = usable('bundle').map(b => b.i);
  return { places, recordings: drafts, bundles };
}

function firstPlace({ wanted, named, kind, problem }: FileToPlan): FilePlace {
  if (!wanted) return { becomes: 'left out by you', use: 'left out' };
  if (problem !== null) return { becomes: `left out: ${problem}`, use: 'left out' };
  if (kind === null) return { becomes: 'being read …', use: 'unclear' };
  if (kind === 'bundle') return { becomes: 'session, as the bundle says', use: 'import' };
  if (!named) return { becomes: 'left out: the name fits no pattern', use: 'left out' };
  return { becomes: '', use: 'import' };
}

const keyOf = (n: NamedFile) =>
  [n.participant, n.recorder ?? onlyRecorder, n.activity ?? '', n.date ?? ''].join('\n').toLowerCase();

/** One for each volunteer, recorder and activity that one signal names. */
function draftsOf(
  signals: readonly { i: number; named: NamedFile }[],
  files: readonly FileToPlan[],
  places: FilePlace[],
): Draft[] {
  const drafts: Draft[] = [];
  for (const { i, named } of signals) {
    const same = signals.filter(s => keyOf(s.named) === keyOf(named));
    if (same.length > 1) {
      const other = files[same.find(s => s.i !== i)!.i]!.path;
      const becomes = `left out: ${other} is an ECG with the same names; tell them apart by {recorder}, {activity} or {date}`;
      places[i] = { becomes, use: 'left out' };
      continue;
    }
    const { participant, recorder, activity, date } = named;
    const draft = { participant, recorder: recorder ?? onlyRecorder, activity, date, signal: i };
    drafts.push({ ...draft, marks: null, segments: [], annotations: [] });
    places[i] = { becomes: `recording of ${nameOf(drafts.at(-1)!)}`, use: 'import' };
  }
  return drafts;
}

const nameOf = (d: Pick<PlannedRecording, 'participant' | 'recorder' | 'activity' | 'date'>) =>
  [d.participant, d.recorder, d.activity, d.date].filter(part => part !== null).join(', ');

const listWords = { marks: 'marks', annotations: 'annotations', segments: 'segments' } as const;

/** A list goes to the recording its name tells; segments and annotations of a volunteer as a whole to every recorder. */
function placeList(
  kind: keyof typeof listWords,
  i: number,
  named: NamedFile,
  drafts: readonly Draft[],
  files: readonly FileToPlan[],
): FilePlace {
  const out = (why: string): FilePlace => ({ becomes: `left out: ${why}`, use: 'left out' });
  const own = drafts.filter(d => d.participant === named.participant);
  if (own.length === 0) return out(`there is no recording of ${named.participant} among these files`);
  const meant = meantBy(named, own);
  if (meant.length === 0)
    return out(`there is no recording of ${nameOf({ ...named, recorder: named.recorder ?? '' })}`);
  if (kind !== 'marks') {
    for (const draft of meant) draft[kind].push(i);
    const whose = meant.length === 1 ? nameOf(meant[0]!) : `${named.participant}, ${meant.length} recordings`;
    return { becomes: `${listWords[kind]} of ${whose}`, use: 'import' };
  }
  const [draft, second] = meant;
  if (second) return out('its name does not say which recorder the marks are of');
  if (draft!.marks !== null) return out(`${nameOf(draft!)} has marks from ${files[draft!.marks]!.path}`);
  draft!.marks = i;
  return { becomes: `marks of ${nameOf(draft!)}`, use: 'import' };
}

/** The recordings a list's name means: its own recorder, one its name begins with, or all where it names none. */
function meantBy(named: NamedFile, own: readonly Draft[]): Draft[] {
  const agree = (a: string | null, b: string | null) => a === null || b === null || a === b;
  const during = own.filter(d => agree(named.activity, d.activity) && agree(named.date, d.date));
  const said = (named.recorder ?? '').toLowerCase();
  const same = during.filter(d => d.recorder.toLowerCase() === said);
  if (same.length > 0) return same;
  const begun = during.filter(d => said.startsWith(d.recorder.toLowerCase()));
  const longest = Math.max(0, ...begun.map(d => d.recorder.length));
  return longest > 0 ? begun.filter(d => d.recorder.length === longest) : during;
}
