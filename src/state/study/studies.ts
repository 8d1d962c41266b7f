import type { EditLog } from '../../core/marks/log';
import { defaultMatchSettings, type MatchSettings } from '../../core/marks/match';
import { type Handling, keepAll } from '../../core/review/privacy/identifying';
import { leaving } from '../../core/review/privacy/leaving';
import type { LeavingTogether } from '../../core/review/privacy/leaving-names';
import { leavingClocks, leavingStudy } from '../../core/review/privacy/leaving-study';
import { exportableLogs, isFinished, type Viewer } from '../../core/review/raters/blind';
import { defaultNamingPattern } from '../../core/review/study/naming';
import type { Study } from '../../core/review/study/study';
import { templateSegments } from '../../core/review/study/template';
import { isStudyBundle, readStudy, studyBlocks } from '../../formats/bundle/study';
import { fileSource } from '../../formats/bytes/source';
import { type Collection, collection } from '../../storage/collection';
import { openAnalysis } from '../../workers/analysis';
import { importClocks, savedClocks } from '../clocks/fits';
import type { ExportFile } from '../export/exporting';
import { lockedFile } from '../export/locking';
import { importBundle, type TakingBundles } from '../import/bundle';
import type { HasLibrary, Library } from '../library';
import { type BlindSession, blindSessions } from '../review/unblinding';
import type { HasRater } from '../stores/prefs-store';

async function kept(library: Library): Promise<Collection<Study>> {
  return collection<Study>(await library.database(), 'study');
}

export async function listStudies(library: Library): Promise<readonly Study[]> {
  return (await kept(library)).list();
}

export async function studyById(library: Library, id: string): Promise<Study | null> {
  return (await kept(library)).get(id);
}

export async function saveStudy(library: Library, study: Study): Promise<void> {
  await (await kept(library)).put(study, study.id);
}

/** Its sessions stay. */
export async function removeStudy(library: Library, id: string): Promise<void> {
  await (await kept(library)).remove(id);
}

export function newStudy(title: string, now: Date): Study {
  const stem = title
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-+|-+$/g, '')
    .slice(0, 40);
  return {
    id: `${stem || 'study'}-${now.getTime().toString(36)}`,
    title,
    sessions: [],
    settings: defaultMatchSettings,
    namingPattern: defaultNamingPattern,
    segmentTemplate: [],
    protocol: '',
  };
}

/** Adds sessions, and activities the template does not name yet, in the order in which they come. */
export async function withSessions(library: Library, study: Study, ids: readonly string[]): Promise<Study> {
  const sessions = [...new Set([...study.sessions, ...ids])];
  const found = await Promise.all(ids.map(id => library.session(id)));
  const names = found.flatMap(s => s?.recordings.flatMap(r => r.segments.map(g => g.name)) ?? []);
  const changed = { ...study, sessions, segmentTemplate: [...new Set([...study.segmentTemplate, ...names])] };
  await saveStudy(library, changed);
  await applySettings(library, changed);
  return changed;
}

/** The study's settings are those of its sessions, so that a review shows the numbers the report will have. */
export async function applySettings(library: Library, { sessions, settings }: Study): Promise<void> {
  for (const id of sessions) {
    const session = await library.session(id);
    if (session && !sameSettings(session.settings, settings)) await library.saveSession({ ...session, settings });
  }
}

/**
 * Gives the template's timed activities to recordings without segments, where no review has begun: one that has would
 * have been signed off as a whole. Answers how many recordings.
 */
export async function applyTemplate(library: Library, study: Study): Promise<number> {
  let given = 0;
  for (const id of study.sessions) {
    const session = await library.session(id);
    if (!session || (await library.raters(id)).length > 0) continue;
    const recordings = session.recordings.map(item =>
      item.segments.length > 0 ? item : { ...item, segments: templateSegments(study, item.recording) },
    );
    const changed = recordings.filter(
      (r, i) => r.segments !== session.recordings[i]!.segments && r.segments.length > 0,
    );
    if (changed.length > 0) await library.saveSession({ ...session, recordings });
    given += changed.length;
  }
  return given;
}

function sameSettings(a: MatchSettings, b: MatchSettings): boolean {
  return a.onPeakToleranceMs === b.onPeakToleranceMs && a.wrongPeakWindowMs === b.wrongPeakWindowMs;
}

interface SampleStudy {
  readonly title: string;
  readonly files: readonly string[];
  readonly about: string;
}

/** The demo study that comes with the page, fetched from where the page itself came from. */
export async function loadDemoStudy(app: TakingBundles): Promise<Study> {
  const index = (await (await fetch('samples/index.json')).json()) as { study: SampleStudy };
  const study: Study = {
    ...newStudy(index.study.title, app.now()),
    id: 'demo-study',
    protocol:
      'Look at every page at 25 mm/s. Mark each beat on its R peak, early beats too.\nCall a stretch unreadable when you cannot make out the beats by eye; where the other recorder shows them, say so with the command for it.',
  };
  const before = (await studyById(app.library, study.id))?.sessions ?? [];
  const ids: string[] = [];
  const job = app.ui.startJob('Fetching the demo study');
  try {
    for (const [i, path] of index.study.files.entries()) {
      job.progress(i / index.study.files.length);
      const response = await fetch(`samples/${path}`);
      if (!response.ok) throw new Error(`${path} could not be fetched (${response.status}): are all files deployed?`);
      ids.push(await importBundle(app, new File([await response.blob()], path)));
    }
  } finally {
    job.end();
  }
  const left = before.filter(id => !ids.includes(id));
  if (left.length > 0)
    app.ui.notify(
      `The demo study has other sessions now. Those it had stay stored, with their reviews: ${left.join(', ')}.`,
    );
  return withSessions(app.library, study, ids);
}

/** Takes in a study bundle with all its sessions; null when the file is none. */
export async function importStudyBundle(app: TakingBundles, file: File): Promise<Study | null> {
  const source = fileSource(file);
  if (!(await isStudyBundle(source).catch(() => false))) return null;
  const { study, sessions, clocks, warnings } = await readStudy(source);
  for (const warning of warnings) app.ui.notify(`${file.name}: ${warning}`);
  for (const session of sessions) {
    if (!(await session.isUnchanged()))
      throw new Error(`${file.name}: the bundle of session ${session.id} was changed.`);
    const bytes = await session.source.read(0, session.source.size);
    await importBundle(app, new File([bytes as Uint8Array<ArrayBuffer>], `${session.id}.zip`));
  }
  for (const [session, own] of Object.entries(clocks)) {
    const differing = await importClocks(app.library, session, own);
    if (differing.length > 0)
      app.ui.notify(`${session}: the clock of ${differing.join(', ')} stored here stays; the bundle has another.`);
  }
  await saveStudy(app.library, study);
  return study;
}

/** Whose own review is under way sees and hands on that one; anybody else sees what one who settles would. */
function viewerOf(logs: readonly EditLog[], rater: string): Viewer {
  const rates = logs.some(l => l.header.rater === rater && l.header.role === 'rater' && !isFinished(l));
  return { rater, role: rates ? 'rater' : 'adjudicator' };
}

async function logsOf(library: Library, id: string): Promise<EditLog[]> {
  return (await Promise.all((await library.raters(id)).map(r => library.log(id, r)))).flatMap(l => l ?? []);
}

/** Sessions of which the study's bundle would hold others' reviews though this rater may still rate them blind. */
export async function shownByExport(
  { library, prefs }: HasLibrary & HasRater,
  study: Study,
): Promise<readonly BlindSession[]> {
  const { rater } = prefs.getState();
  const found: BlindSession[] = [];
  for (const blind of await blindSessions(library, study.sessions, rater)) {
    const session = (await library.session(blind.id))!;
    const logs = await logsOf(library, blind.id);
    const shown = exportableLogs({ session, logs }, viewerOf(logs, rater), 'as I see it');
    if (shown.some(l => l.header.rater !== rater)) found.push(blind);
  }
  return found;
}

/** Every session of the study that is here, and the codes of all raters whose logs are there. */
async function togetherOf(library: Library, study: Study): Promise<LeavingTogether> {
  const sessions = (await Promise.all(study.sessions.map(id => library.session(id)))).flatMap(s => s ?? []);
  const raters = await Promise.all(sessions.map(s => library.raters(s.id)));
  return { sessions, raters: [...new Set(raters.flat())], study };
}

/**
 * The study as one file, locked unless the passphrase is ''. It carries of each session what this rater may see, as a
 * session bundle would; of the sessions in `ownOnly` no review by others.
 */
export async function studyFile(
  app: HasLibrary & HasRater,
  study: Study,
  handling: Handling = keepAll,
  passphrase = '',
  ownOnly: ReadonlySet<string> = new Set(),
): Promise<ExportFile> {
  const { library } = app;
  const analysis = openAnalysis();
  const { rater } = app.prefs.getState();
  const all = await togetherOf(library, study);
  const known = all.sessions.map(s => s.id);
  const shown = leavingStudy({ ...study, sessions: known }, all, handling);
  const idOf = new Map(shown.sessions.map((id, i) => [id, known[i]!]));
  const clocks = leavingClocks(await savedClocks(library, known), all, handling);
  async function* bundleOf(shownId: string): AsyncGenerator<Uint8Array> {
    const id = idOf.get(shownId)!;
    const session = (await library.session(id))!;
    const own = await logsOf(library, id);
    const viewer = ownOnly.has(id) ? ({ rater, role: 'rater' } as const) : viewerOf(own, rater);
    const logs = exportableLogs({ session, logs: own }, viewer, 'as I see it');
    const left = leaving({ session, logs }, handling, all);
    const { names } = left;
    const recordings = session.recordings.map(r => [names.recording(r.recording.id), r.recording.id] as const);
    const storedAs = { session: id, recordings: Object.fromEntries(recordings) };
    const reviewed = { session: left.session, logs: left.logs };
    const blob = await analysis.start('bundle', { reviewed, storedAs, options: {} }).done;
    yield new Uint8Array(await blob.arrayBuffer());
  }
  try {
    const parts: Blob[] = [];
    for await (const block of studyBlocks(shown, bundleOf, clocks)) {
      parts.push(new Blob([block as Uint8Array<ArrayBuffer>]));
    }
    const file = { name: `${shown.id}.zip`, blob: new Blob(parts, { type: 'application/zip' }) };
    return passphrase === '' ? file : await lockedFile(file, passphrase);
  } finally {
    analysis.close();
  }
}
