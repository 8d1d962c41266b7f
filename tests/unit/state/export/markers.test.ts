import { unzipSync } from 'fflate';
import { expect, test } from 'vitest';
import type { EditLog } from '../../../../src/core/marks/log';
import { match } from '../../../../src/core/marks/match';
import { markVerdicts } from '../../../../src/core/marks/verdicts';
import { provenanceOf } from '../../../../src/core/report/provenance';
import { type Handling, keepAll } from '../../../../src/core/review/privacy/identifying';
import { leaving } from '../../../../src/core/review/privacy/leaving';
import type { Session } from '../../../../src/core/review/session';
import { checkBundle } from '../../../../src/formats/bundle/check';
import { bytesSource } from '../../../../src/formats/bytes/source';
import {
  type ExportFile,
  exportAudit,
  exportBundle,
  exportEdf,
  exportIntervals,
  exportMarks,
  exportResults,
} from '../../../../src/state/export/exporting';
import { memoryLead } from '../../../../src/state/review/memory-leads';
import { createReviewStore } from '../../../../src/state/review/review-store';
import { createSignals } from '../../../../src/state/review/signals';
import type { ReviewWorkspace } from '../../../../src/state/review/workspace';
import { createViewStore } from '../../../../src/state/stores/view-store';
import { leavingModel } from '../../../../src/views/review/leaving-model';
import { type StripModel, sameClock } from '../../../../src/views/strip-chart/model';
import { completed } from '../../../../src/views/strip-chart/picture-png';
import { stripPicture } from '../../../../src/views/strip-chart/strip-picture';
import { count, detected, end, markedSession, markersAfter, markersMade, times, words } from './marked';
import { nothing, secretsIn } from './secrets';

const before = markersMade();
const { session, ids, segments, note, raters, logs } = markedSession();
const [first, second, settled] = logs;
const inSession = markersAfter(before);

const app = { now: () => new Date('2031-01-02T03:04:05Z') };
const leads = [memoryLead(session.recordings[0]!.recording.leads[0]!, words)];

function workspaceFor(log: EditLog, others: readonly EditLog[]): ReviewWorkspace {
  const access = { writable: true, why: null } as const;
  const review = createReviewStore({ session, log, others, access }, async () => undefined, app.now);
  const signals = createSignals(session.recordings.map(r => r.recording));
  for (const { recording } of session.recordings) signals.replace(recording.id, [leads[0]!, leads[0]!]);
  const view = createViewStore();
  view.setState({ recordingId: ids[0]! });
  return { review, signals, view, purpose: 'review' } as unknown as ReviewWorkspace;
}

/** A PNG of one grey pixel, as zlib and the PNG specification make it. */
const onePixel = 'iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAAAAAA6fptVAAAACklEQVR4nGNoAAAAggCBd81ytgAAAABJRU5ErkJggg==';

/** What the strip shows, with every name it can show. */
function pictures(handling: Handling): ExportFile[] {
  const left = leaving({ session, logs: [first, second, settled] }, handling);
  const [{ recording }] = session.recordings as [Session['recordings'][number]];
  const verdicts = markVerdicts(match(detected, detected, [], 250), detected, detected);
  const lane = (name: string) => ({ name, marks: detected, verdicts, unreadable: [] });
  const model: StripModel = {
    recorders: [
      {
        id: recording.id,
        label: recording.recorder,
        samplingRateHz: 250,
        sampleCount: count,
        startedAt: recording.startedAt,
        tracks: recording.leads.map((l, i) => ({
          id: `${recording.id}/${i}`,
          recorderLabel: recording.recorder,
          leadName: l.name,
          samplingRateHz: 250,
          columns: (_start, _end, columns, out) => {
            out.min.fill(0, 0, columns);
            out.max.fill(1, 0, columns);
            return 'exact';
          },
        })),
        detected,
        reviewed: detected,
        verdicts,
        unreadable: [],
        gaps: [],
        accepted: [],
        segments,
        notes: [note('comment'), note('evidence')],
        suggestions: [],
        selected: null,
        caret: null,
        pendingSpan: null,
        axis: sameClock,
        raters: { above: lane(raters[0]), below: lane(raters[1]), settled: true, disputed: [], inHand: [] },
      },
    ],
  };
  const view = { startSeconds: 0, mmPerSecond: 25, mmPerMv: 10, pxPerMm: 3.8, rows: 1, devicePixelRatio: 1 };
  const svg = stripPicture({
    model: leavingModel(model, left, handling),
    view: { ...view, theme: 'light', textScale: 1 } as never,
    width: 900,
    height: 400,
    notes: [left.session.title],
    facts: provenanceOf(left),
  });
  // Pixels are drawn by a browser; every other byte of the PNG is added to what it drew, from the same SVG.
  const drawn = Uint8Array.from(Buffer.from(onePixel, 'base64'));
  const { id } = left.session;
  return [
    { name: `${id}.svg`, blob: new Blob([svg]) },
    { name: `${id}.png`, blob: new Blob([completed(drawn, svg, 300)]) },
  ];
}

async function everything(handling: Handling): Promise<ExportFile[]> {
  const own = workspaceFor(first, [second, settled]);
  const supervisors = workspaceFor(settled, [first, second]);
  const all = [...raters];
  return [
    ...exportResults(app, own, all, handling),
    ...exportMarks(own, all, handling),
    ...exportIntervals(own, all, handling),
    ...exportAudit(own, all, handling),
    ...(await exportEdf(own, true, all, handling)),
    ...(await exportEdf(own, false, all, handling)),
    ...(await exportBundle(own, 'as I see it', handling)),
    ...(await exportBundle(supervisors, 'as I see it', handling)),
    ...(await exportBundle(own, 'blind rater', handling)),
    ...pictures(handling),
  ];
}

const found = async (handling: Handling) => secretsIn(await everything(handling));

test('with every option ticked, no byte of any export has a name, code, remark, date or time that came from a person', async () => {
  expect(await found(nothing)).toEqual([]);
});

test('the markers are seen where nothing is left out: each of them in some export', async () => {
  const seen = new Set((await found(keepAll)).map(f => f.secret));
  expect(inSession.filter(m => !seen.has(m))).toEqual([]);
  for (const time of times.slice(0, 2)) expect([...seen].some(s => s === time)).toBe(true);
});

test('every export carries format, doubts, settings, version and checksums of what it was made from', async () => {
  const files = await everything(keepAll);
  const carriers = files.filter(f => !f.name.endsWith('.csv'));
  // Each table has a file of its name beside it, or for the results one of the same stem.
  const names = new Set(files.map(f => f.name));
  const tables = files.filter(f => f.name.endsWith('.csv')).map(f => f.name);
  const beside = (name: string) => names.has(`${name}-metadata.json`) || names.has(name.replace(/csv$/, 'json'));
  expect(tables.filter(name => !beside(name))).toEqual([]);
  const { origin, source } = session.recordings[0]!.recording;
  for (const { name, blob } of carriers) {
    const bytes = Buffer.from(await blob.arrayBuffer());
    const text = name.endsWith('.zip')
      ? Object.values(unzipSync(bytes))
          .map(part => Buffer.from(part).toString())
          .join('')
      : bytes.toString().replaceAll('&#34;', '"');
    const wanted = ['Beat Ledger 0.', source, origin!.fileSha256, origin!.doubts[0]!, origin!.leftOut[0]!];
    expect([name, wanted.filter(w => !text.includes(w))]).toEqual([name, []]);
    expect(text).toMatch(/"onPeakToleranceMs": ?50|on the peak within 50 ms/);
  }
});

test('what is left after leaving out is whole: logs chain, apply to the marks and name each other', async () => {
  const files = await exportBundle(workspaceFor(settled, [first, second]), 'as I see it', nothing);
  const bytes = new Uint8Array(await files[0]!.blob.arrayBuffer());
  const { bundle, problems } = await checkBundle(bytesSource('left.zip', bytes));
  expect(problems).toEqual([]);
  const logs = bundle!.reviewed.logs;
  expect(logs.map(l => l.header.rater)).toEqual(['rater-1', 'rater-2', 'rater-3']);
  expect(logs[2]!.entries[0]!.fact).toEqual({ kind: 'settledLogs', a: end(logs[0]!), b: end(logs[1]!) });
});
