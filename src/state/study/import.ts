import { type Segment, wholeSegment } from '../../core/recording/recording';
import type { Session, SessionRecording } from '../../core/review/session';
import type { ImportPlan, PlannedRecording } from '../../core/review/study/import-plan';
import type { Study } from '../../core/review/study/study';
import { templateSegments } from '../../core/review/study/template';
import { idFrom } from '../../formats/opened';
import { openImporter } from '../../workers/import';
import { Cancelled } from '../../workers/outcome';
import { errorMessage } from '../error-message';
import { importBundle, type TakingBundles } from '../import/bundle';
import { type ImportJournal, openJournalOf } from '../import/journal';
import { type ImportRun, startRun } from '../import/reading';
import { sameSignals } from '../import/repeats';
import type { ImportedRecorder, ImportRow } from '../import/row';
import { notesOf, placedMarks, sessionOf } from '../import/session';
import { heldAgainstBeats } from '../import/stages';
import type { HasLibrary } from '../library';
import { type ChosenStudyFile, importPlanOf, type StudyFiles } from './files';
import { withSessions } from './studies';

interface Work {
  readonly app: TakingBundles;
  readonly study: Study;
  readonly files: readonly ChosenStudyFile[];
  readonly change: StudyFiles['change'];
  readonly stageOf: (path: string) => ChosenStudyFile['stage'] | undefined;
  readonly run: ImportRun;
}

/**
 * Imports what the plan says: bundles as they are, recordings as one session a volunteer (and day). What cannot be read stays in the
 * list with its reason, and the others go on. Stopping keeps the volunteers that are whole.
 */
export async function importStudyFiles(
  app: TakingBundles,
  study: Study,
  { store, change }: StudyFiles,
): Promise<Study> {
  const { files } = store.getState();
  const plan = importPlanOf(files, study.namingPattern);
  for (const f of files) if (f.stage === 'failed') change(f.path, { stage: 'ready', failure: null });
  const importer = openImporter();
  const run = startRun(importer);
  const stageOf = (path: string) => store.getState().files.find(f => f.path === path)?.stage;
  const work: Work = { app, study, files, change, stageOf, run };
  const job = app.ui.startJob('Importing the files', () => run.cancel());
  const sessions = [...new Set(plan.recordings.map(r => sessionId(study, r)))];
  const steps = plan.bundles.length + plan.recordings.length;
  let done = 0;
  let grown = study;
  // Each on its own and kept at once: what fails or is cut off takes nothing of the others with it.
  const add = async (ids: readonly string[]) => {
    if (ids.length > 0) grown = await withSessions(app.library, grown, ids);
  };
  store.setState({ busy: true });
  try {
    for (const i of plan.bundles) {
      job.progress(done++ / steps);
      if (!run.cancelled()) await add(await importSessionBundle(work, files[i]!));
    }
    for (const session of sessions) {
      const own = plan.recordings.filter(r => sessionId(study, r) === session);
      if (!run.cancelled()) await add(await importVolunteer(work, own, share => job.progress((done + share) / steps)));
      done += own.length;
    }
  } finally {
    job.end();
    importer.close();
    store.setState({ busy: false });
  }
  tellLists(work, plan, store.getState().files);
  return grown;
}

async function importSessionBundle({ app, change }: Work, { path, row }: ChosenStudyFile): Promise<string[]> {
  change(path, { stage: 'reading' });
  try {
    const id = await importBundle(app, row.file);
    change(path, { stage: 'imported' });
    return [id];
  } catch (error) {
    change(path, { stage: 'failed', failure: errorMessage(error) });
    return [];
  }
}

/** One session; its id when it is stored. `onShare`: recordings done, in parts of one. */
async function importVolunteer(
  work: Work,
  planned: readonly PlannedRecording[],
  onShare: (recordings: number) => void,
): Promise<string[]> {
  const { app, study } = work;
  const [first] = planned as [PlannedRecording];
  const { participant, date } = first;
  const id = sessionId(study, first);
  try {
    const known = await app.library.session(id);
    const cutOff = known?.participant === participant && !study.sessions.includes(id);
    const left = cutOff ? adoptStored(work, known, planned) : planned;
    if (left.length > 0) await importRecordings(work, { id, participant, date, known }, left, onShare);
  } catch (error) {
    for (const p of planned) if (!isImported(work, p)) fail(work, p, errorMessage(error));
  }
  return planned.some(p => isImported(work, p)) ? [id] : [];
}

/** One a volunteer, and one a day where names have dates. */
const sessionId = (study: Study, { participant, date }: PlannedRecording) =>
  idFrom(`${[study.id, participant, ...(date ? [date] : [])].join('-')}.`);

interface Destination {
  readonly id: string;
  readonly participant: string;
  readonly date: string | null;
  /** The session as it is stored already. */
  readonly known: Session | null;
}

/** Recordings that an import which was cut off had stored are taken as they are; the others are answered. */
function adoptStored(work: Work, known: Session, planned: readonly PlannedRecording[]): PlannedRecording[] {
  return planned.filter(plan => {
    const { path, row } = work.files[plan.signal]!;
    const stored = known.recordings.find(r => r.recording.id === recordingId(plan));
    if (!stored?.recording.source.includes(row.file.name.replace(/\.gz$/i, ''))) return true;
    work.change(path, { stage: 'imported', share: null });
    return false;
  });
}

const isImported = ({ stageOf, files }: Work, plan: PlannedRecording) =>
  stageOf(files[plan.signal]!.path) === 'imported';

function fail({ files, change }: Work, plan: PlannedRecording, failure: string): void {
  change(files[plan.signal]!.path, { stage: 'failed', failure, share: null });
}

async function importRecordings(
  work: Work,
  to: Destination,
  planned: readonly PlannedRecording[],
  onShare: (recordings: number) => void,
): Promise<void> {
  const { app, files, change, run } = work;
  const refused = await whyNot(app, to);
  if (refused) {
    for (const p of planned) fail(work, p, refused);
    return;
  }
  const taken = new Set(to.known?.recordings.map(r => r.recording.id));
  const journal = await openJournalOf(app, to.id);
  const made: Made[] = [];
  for (const [k, plan] of planned.entries()) {
    const recording = recordingId(plan);
    if (taken.has(recording)) {
      fail(work, plan, 'This volunteer has a recording of this name in the study already; it was left as it is.');
      continue;
    }
    taken.add(recording);
    try {
      made.push({ plan, item: await importRecording(work, journal, to.id, plan, share => onShare(k + share)) });
    } catch (error) {
      await journal.drop(recording);
      if (run.cancelled()) break;
      fail(work, plan, errorMessage(error));
    }
  }
  if (run.cancelled() || made.length === 0) {
    await takeBack(journal, made);
    for (const p of planned) changeBack(work, files[p.signal]!.path, run.cancelled());
    return;
  }
  try {
    await keep(work, to, made);
  } catch (error) {
    await takeBack(journal, made);
    throw error;
  }
  await journal.end();
  for (const { plan } of made) change(files[plan.signal]!.path, { stage: 'imported', share: null });
}

interface Made {
  readonly plan: PlannedRecording;
  readonly item: SessionRecording;
}

async function takeBack(journal: ImportJournal, made: readonly Made[]): Promise<void> {
  for (const { plan } of made) await journal.drop(recordingId(plan));
  await journal.end();
}

/** After a stop, what was being read is as it was before. */
function changeBack({ change }: Work, path: string, stopped: boolean): void {
  if (stopped) change(path, { stage: 'ready', share: null });
}

const recordingId = ({ recorder, activity }: PlannedRecording) =>
  idFrom(`${activity ? `${recorder}-${activity}` : recorder}.`);

/** A reviewed session takes no further recordings: its logs are bound to those they were begun with. */
async function whyNot({ library }: HasLibrary, { id, participant, known }: Destination): Promise<string | null> {
  if (!known) return null;
  if (known.participant !== participant)
    return `Its session would have the same name as that of ${known.participant}: give the volunteers codes that differ in letters or digits.`;
  if ((await library.raters(id)).length === 0) return null;
  return `The review of ${participant} has begun, so its recordings stay as they are.`;
}

async function keep(
  { app, study }: Work,
  { id, participant, date, known }: Destination,
  made: readonly Made[],
): Promise<void> {
  const recordings = [...(known?.recordings ?? []), ...made.map(m => m.item)];
  const title = known?.title ?? [participant, study.title, ...(date ? [date] : [])].join(', ');
  await app.library.saveSession({ id, title, participant, recordings, settings: study.settings });
}

async function importRecording(
  { app, study, files, change, run }: Work,
  journal: ImportJournal,
  session: string,
  plan: PlannedRecording,
  onShare: (share: number) => void,
): Promise<SessionRecording> {
  const signal = files[plan.signal]!;
  const recording = recordingId(plan);
  const tell = (share: number) => {
    onShare(share);
    change(signal.path, { share });
  };
  change(signal.path, { stage: 'reading', share: 0 });
  await journal.begin(recording, signal.row.file);
  const row: ImportRow = { ...signal.row, recorder: plan.recorder };
  const read = await run.signal(row, { session, recording }, p => {
    const share = p.totalBytes > 0 ? p.doneBytes / p.totalBytes : 0;
    journal.progress(recording, share);
    tell(0.8 * share);
  });
  let made = await run.recorder(row, read, { session, recording });
  const lists = [...(plan.marks === null ? [] : [plan.marks]), ...plan.annotations, ...plan.segments];
  for (const i of lists) made = await withList(run, made, files[i]!);
  if (!placedMarks(made)) made = { ...made, builtIn: await run.detect(made.opened, session, s => tell(0.8 + 0.2 * s)) };
  made = await heldAgainstBeats(made, session, run);
  const repeats = sameSignals(
    [made],
    (await app.library.sessions()).filter(s => s.participant !== plan.participant),
  );
  change(signal.path, { found: [...repeats, ...otherDay(plan, made), ...notesOf(made).warnings] });
  const [item] = sessionOf({ id: session, title: '', participant: plan.participant }, [made]).recordings;
  return item!.segments.length > 0 ? item! : { ...item!, segments: segmentsFor(study, plan, item!) };
}

/** A file may lie under the name of another. */
function otherDay({ date }: PlannedRecording, { opened }: ImportedRecorder): string[] {
  const day = opened.recording.startedAt?.slice(0, 10);
  if (date === null || day === undefined || day === date) return [];
  return [`The name says ${date}, the recording begins on ${day}.`];
}

/** Without its list a recording is not what the person chose, so it fails with it. */
async function withList(
  run: ImportRun,
  made: ImportedRecorder,
  { path, row }: ChosenStudyFile,
): Promise<ImportedRecorder> {
  try {
    return await run.addList(made, row);
  } catch (error) {
    if (error instanceof Cancelled || run.cancelled()) throw error;
    throw new Error(`With ${path}: ${errorMessage(error)}`);
  }
}

/** The activity of the file's name is all of it; else the study's template tells. */
function segmentsFor(
  study: Study,
  { activity }: PlannedRecording,
  { recording }: SessionRecording,
): readonly Segment[] {
  return activity === null ? templateSegments(study, recording) : [{ ...wholeSegment(recording), name: activity }];
}

/** Lists are done when a recording that took them is. */
function tellLists({ change }: Work, plan: ImportPlan, files: readonly ChosenStudyFile[]): void {
  const lists = (r: PlannedRecording) => [...(r.marks === null ? [] : [r.marks]), ...r.segments, ...r.annotations];
  const all = new Set(plan.recordings.flatMap(lists));
  for (const i of all) {
    const users = plan.recordings.filter(r => lists(r).includes(i));
    const whole = users.every(r => files[r.signal]!.stage === 'imported');
    if (whole) change(files[i]!.path, { stage: 'imported' });
  }
}
