import { expect, test } from 'vitest';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import { reportData, withStrips } from '../../../../src/core/report/report';
import { defaultStudySettings } from '../../../../src/core/report/study-numbers';
import { type Handling, keepAll } from '../../../../src/core/review/privacy/identifying';
import type { ReviewedSession } from '../../../../src/core/review/session';
import type { Study } from '../../../../src/core/review/study/study';
import { checkBundle } from '../../../../src/formats/bundle/check';
import { readStudy } from '../../../../src/formats/bundle/study';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { reportFiles } from '../../../../src/report/files';
import { importClocks } from '../../../../src/state/clocks/fits';
import type { ExportFile } from '../../../../src/state/export/exporting';
import { importBundle } from '../../../../src/state/import/bundle';
import { saveStudy, studyFile } from '../../../../src/state/study/studies';
import { createPage } from '../page';
import { markedSession, marker, markersAfter, markersMade, words } from './marked';
import { nothing, secretsIn } from './secrets';

const before = markersMade();
const marked = [markedSession(), markedSession()];
const sessions: readonly ReviewedSession[] = marked.map(({ session, logs }) => ({ session, logs }));
const inSessions = markersAfter(before);
const study: Study = {
  id: marker(),
  title: marker(),
  sessions: sessions.map(s => s.session.id),
  settings: defaultMatchSettings,
  namingPattern: `${marker()}_{participant}`,
  namedFiles: { [marker()]: { participant: marker(), recorder: marker(), activity: marker(), date: null } },
  segmentTemplate: [marker(), marked[0]!.segments[0]!.name],
  segmentSeconds: { [marker()]: [0, 2] },
  protocol: marker(),
  countedRater: marked[1]!.raters[0],
};
const inStudy = markersAfter(before + inSessions.length);
const clocks = Object.fromEntries(
  marked.map(m => [m.session.id, { [m.ids[1]!]: { offsetSeconds: 0.25, driftPpm: 3, from: 'by hand' } }]),
);
const { bootstrap, planning } = defaultStudySettings;
const statistics = { bootstrap: { ...bootstrap, draws: 100 }, planning: { ...planning, studies: 20 } };

function report(handling: Handling, shown = sessions) {
  const settings = { match: defaultMatchSettings, statistics, includeUnfinished: false, clocks, handling };
  const prepared = reportData({ title: study.title, study, sessions: shown, settings });
  return {
    prepared,
    data: withStrips(
      prepared,
      prepared.strips.map(() => [0, 1]),
    ),
  };
}

const reportAsFiles = (handling: Handling) =>
  reportFiles(report(handling).data).map(({ path, text }): ExportFile => ({ name: path, blob: new Blob([text]) }));

const app = createPage();

/** The study as the page has it, and as it leaves. */
async function bundle(handling: Handling): Promise<ExportFile> {
  for (const { session, logs } of sessions) {
    if (await app.library.session(session.id)) continue;
    const bytes = writeBundle({ session, logs: [...logs] }, () => words);
    await importBundle(app, new File([bytes], 'one.zip'));
    await importClocks(app.library, session.id, clocks[session.id]!);
  }
  await saveStudy(app.library, study);
  return studyFile(app, study, handling);
}

let once: Promise<ExportFile> | undefined;
const leftBundle = () => {
  once ??= bundle(nothing);
  return once;
};

/** The same on a busy machine. */
const patient = 60_000;

test(
  'a study that leaves everything out has no name, code, remark, date or time of a person, in bundle or report',
  async () => {
    const files = [await leftBundle(), ...reportAsFiles(nothing)];
    expect(await secretsIn(files)).toEqual([]);
  },
  patient,
);

test(
  'the markers are seen where nothing is left out',
  async () => {
    const seen = async (files: readonly ExportFile[]) => new Set((await secretsIn(files)).map(f => f.secret));
    const inBundle = await seen([await bundle(keepAll)]);
    expect([...inSessions, ...inStudy].filter(m => !inBundle.has(m))).toEqual([]);
    expect((await seen(reportAsFiles(keepAll))).size).toBeGreaterThan(30);
  },
  patient,
);

test(
  'a study that was left out of is whole: names are the same in all of it, clocks stay with their recordings',
  async () => {
    const { blob } = await leftBundle();
    const opened = await readStudy(bytesSource('study.zip', new Uint8Array(await blob.arrayBuffer())));
    expect(opened.study).toMatchObject({ id: 'study', sessions: ['session-1', 'session-2'], protocol: '' });
    expect(opened.clocks['session-2']).toEqual({
      'recording-2': { offsetSeconds: 0.25, driftPpm: 3, from: 'by hand' },
    });
    const people: string[] = [];
    for (const session of opened.sessions) {
      expect(await session.isUnchanged()).toBe(true);
      const { bundle: one, problems } = await checkBundle(session.source);
      expect(problems).toEqual([]);
      people.push(one!.reviewed.session.participant, ...one!.reviewed.logs.map(l => l.header.rater));
    }
    expect(people).toEqual([
      'volunteer-1',
      'rater-1',
      'rater-2',
      'rater-3',
      'volunteer-2',
      'rater-4',
      'rater-5',
      'rater-6',
    ]);
    expect(opened.study.countedRater).toBe('rater-4');
  },
  patient,
);

test(
  'the numbers of a report are the same whatever is left out, and its examples find their signal',
  () => {
    // The raters' own logs alone: a comment of the review that counts makes an example.
    const rated = marked.map(({ session, logs: [first, second] }) => ({ session, logs: [first, second] }));
    const whole = report(keepAll, rated);
    const left = report(nothing, rated);
    expect(left.data.numbers).not.toEqual(whole.data.numbers);
    const plain = (data: typeof whole.data) =>
      JSON.stringify([data.segments.map(s => s.counts), data.numbers.quality.map(q => [q.pooled, q.pooledBootstrap])]);
    expect(plain(left.data)).toBe(plain(whole.data));
    expect(left.prepared.places).toEqual(whole.prepared.places);
    expect(whole.prepared.places.length).toBeGreaterThan(0);
    // The rater whose reviews count rated the second session alone.
    expect(left.data.volunteers).toEqual(['volunteer-2']);
  },
  patient,
);
