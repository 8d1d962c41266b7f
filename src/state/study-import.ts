import type { Segment } from '../core/recording/recording';
import { type NamedFile, readName } from '../core/review/naming';
import type { Study } from '../core/review/study';
import { idFrom } from '../formats/opened';
import { openImporter } from '../workers/import';
import type { App } from './app';
import { type ImportRun, startRun } from './import-reading';
import { type ImportedRecorder, type ImportRow, isSignal, newRow, rowAfterLook } from './import-row';
import { placedMarks, sessionOf } from './import-session';
import { openTrailOf, type Trail } from './import-trail';
import { withSessions } from './studies';
import { takeBundle } from './taking';

/** One chosen file and what its name says. */
export interface NamedInput {
  readonly file: File;
  /** With the folders it was chosen with. */
  readonly path: string;
  /** A session bundle carries its own names. */
  readonly bundle: boolean;
  readonly named: NamedFile | null;
}

export function namedInputs(files: readonly File[], pattern: string): NamedInput[] {
  return files
    .filter(f => !f.name.startsWith('.'))
    .map(file => {
      const path = file.webkitRelativePath || file.name;
      return { file, path, bundle: /\.zip$/i.test(file.name), named: readName(pattern, path) };
    })
    .sort((a, b) => (a.path < b.path ? -1 : 1));
}

/** Imports what the names could be read of: bundles as they are, other files as one session a volunteer. */
export async function importNamed(app: App, study: Study, inputs: readonly NamedInput[]): Promise<Study> {
  const ids: string[] = [];
  for (const { file } of inputs.filter(i => i.bundle)) ids.push(await takeBundle(app, file));
  const others = inputs.filter(i => !i.bundle && i.named !== null);
  const importer = openImporter();
  const job = app.shell.startJob('Importing the recordings');
  try {
    const volunteers = [...new Set(others.map(i => i.named!.participant))];
    for (const [k, volunteer] of volunteers.entries()) {
      job.progress(k / volunteers.length);
      const own = others.filter(i => i.named!.participant === volunteer);
      ids.push(await importVolunteer(app, study, volunteer, own, { importer, run: startRun(importer) }));
    }
  } finally {
    job.end();
    importer.close();
  }
  return withSessions(app.library, study, ids);
}

interface Tools {
  readonly importer: ReturnType<typeof openImporter>;
  readonly run: ImportRun;
}

/** Files of one volunteer: those that share recorder and activity belong together. */
async function importVolunteer(
  app: App,
  study: Study,
  volunteer: string,
  inputs: readonly NamedInput[],
  tools: Tools,
): Promise<string> {
  const id = idFrom(`${study.id}-${volunteer}`);
  if (await app.library.session(id)) {
    app.shell.notify(`${volunteer} is here already and was left as it is. Remove that session to read its files anew.`);
    return id;
  }
  const trail = await openTrailOf(app, id);
  try {
    await keepVolunteer(app, study, volunteer, inputs, { ...tools, trail });
    await trail.end();
  } catch (error) {
    await trail.remove().catch(() => undefined);
    throw error;
  }
  return id;
}

async function keepVolunteer(
  app: App,
  study: Study,
  volunteer: string,
  inputs: readonly NamedInput[],
  tools: Tools & { readonly trail: Trail },
): Promise<void> {
  const id = tools.trail.session;
  const groups = new Map<string, NamedInput[]>();
  for (const input of inputs) {
    const key = [input.named!.recorder ?? 'recorder', input.named!.activity ?? ''].join('\n');
    groups.set(key, [...(groups.get(key) ?? []), input]);
  }
  const recorders: ImportedRecorder[] = [];
  const activities = new Map<ImportedRecorder, string>();
  for (const group of groups.values()) {
    const recorder = await importGroup(group, tools);
    recorders.push(recorder);
    const { activity } = group[0]!.named!;
    if (activity) activities.set(recorder, activity);
  }
  const made = sessionOf({ id, title: `${volunteer}, ${study.title}`, participant: volunteer }, recorders);
  const recordings = made.recordings.map((item, i) => {
    const activity = activities.get(recorders[i]!);
    if (!activity || item.segments.length > 0) return item;
    const whole = { name: activity, start: 0, end: item.recording.sampleCount } as unknown as Segment;
    return { ...item, segments: [whole] };
  });
  await app.library.keepSession({ ...made, recordings, settings: study.settings });
}

async function importGroup(
  group: readonly NamedInput[],
  { importer, run, trail }: Tools & { readonly trail: Trail },
): Promise<ImportedRecorder> {
  const { session } = trail;
  const { recorder, activity, participant } = group[0]!.named!;
  const name = recorder ?? 'recorder';
  const rows: ImportRow[] = [];
  for (const [i, { file }] of group.entries()) {
    const looked = await importer.start('look', { file }).done;
    const row = newRow(i + 1, file);
    rows.push({ ...row, ...rowAfterLook(row, looked, null), recorder: name });
  }
  const [signal, second] = rows.filter(isSignal);
  const place = `${participant}, ${name}${activity ? `, ${activity}` : ''}`;
  if (!signal) throw new Error(`${place}: no file with an ECG among ${group.map(g => g.file.name).join(', ')}.`);
  if (second)
    throw new Error(
      `${place}: two files with an ECG, ${signal.file.name} and ${second.file.name}. Name the recorder or the activity in the pattern.`,
    );
  if (signal.meaning === 'raw')
    throw new Error(
      `${signal.file.name} is raw binary, which says nothing of itself: import it by hand on the first page.`,
    );
  const recording = idFrom(activity ? `${name}-${activity}` : name);
  await trail.begin(recording, signal.file);
  const { opened, annotations } = await run.signal(signal, { session, recording }, () => undefined);
  let made: ImportedRecorder = {
    row: signal.id,
    opened,
    annotations,
    uses: new Map(),
    marks: null,
    segments: [],
    builtIn: null,
  };
  for (const row of rows) {
    if (row !== signal && row.meaning !== 'left out') made = await run.addList(made, row);
  }
  return placedMarks(made) ? made : { ...made, builtIn: await run.detect(opened, session, () => undefined) };
}
