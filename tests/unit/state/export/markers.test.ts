import { unzipSync } from 'fflate';
import { expect, test } from 'vitest';
import type { Change } from '../../../../src/core/marks/edit';
import { append, type Draft, type EditLog, lastHash, newLog } from '../../../../src/core/marks/log';
import { marksFrom } from '../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../src/core/marks/match';
import { verdicts as verdictsOf } from '../../../../src/core/marks/verdicts';
import type { Lead } from '../../../../src/core/recording/recording';
import { type Handling, keepAll } from '../../../../src/core/review/privacy/identifying';
import { leaving } from '../../../../src/core/review/privacy/leaving';
import { logHeader, type Session } from '../../../../src/core/review/session';
import { sampleIndex, span } from '../../../../src/core/units';
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
import { stripPicture } from '../../../../src/views/strip-chart/strip-picture';

/** Stands in everything that a person can type or a file can bring; a number behind it tells which. */
let planted = 0;
const marker = () => `Qzx${planted++}`;
/** Days and times of day of the recording and of the reviews, in every way they are written. */
const times = ['2019-08-07', '7-AUG', '07.08.19', '07:31:47', '07.31.47', '2023-05-06', '2023-05-07', '16:17:18'];

const count = 2000;
const lead = (): Lead => ({
  name: marker(),
  samplingRateHz: 250,
  sampleCount: count,
  format: 'int16',
  mvPerUnit: 0.005,
  offset: 0,
  fileUnit: marker(),
});
const words = Int16Array.from({ length: count }, (_, i) => (i % 200 < 6 ? 900 : Math.round(30 * Math.sin(i / 9))));
const detected = marksFrom([3, 203, 403, 603, 803, 1003]);
const segments = [
  { name: marker(), ...span(0, 900) },
  { name: marker(), ...span(900, count) },
];

function item(id: string) {
  return {
    recording: {
      id,
      recorder: marker(),
      samplingRateHz: 250,
      sampleCount: count,
      startedAt: '2019-08-07T07:31:47',
      utcOffsetMinutes: 345,
      leads: [lead(), lead()],
      ecgLead: 1,
      gaps: [],
      source: `${marker()}.edf (EDF+)`,
      origin: {
        format: 'EDF+',
        fileSha256: 'ab'.repeat(32),
        signalSha256: '',
        doubts: [marker()],
        leftOut: [marker()],
      },
    },
    detected,
    detectedBy: `${marker()}.csv`,
    segments,
  };
}

const plan = {
  segment: segments[1]!.name,
  seed: 7,
  stretchSeconds: 2,
  contextSeconds: 1,
  shares: [0.5],
  weights: [1, 1],
  halfWidth: null,
  classes: [0, 1],
  bounds: [3, 3],
};
const ids = [marker(), marker()];
const session: Session = {
  id: marker(),
  title: marker(),
  participant: marker(),
  settings: defaultMatchSettings,
  recordings: ids.map(item),
  samples: [{ recording: ids[0]!, plan, drawn: null }],
};
const raters = [marker(), marker(), marker()] as const;

function logOf(rater: string, role: 'rater' | 'adjudicator', drafts: readonly Partial<Draft>[]): EditLog {
  const at = '2023-05-06T16:17:18.000Z';
  return drafts.reduce<EditLog>(
    (log, draft) => append(log, { at, recording: ids[0]!, intent: 'comment', change: [], ...draft }).log,
    newLog(logHeader(session, rater, role)),
  );
}

const note = (kind: 'comment' | 'flag' | 'evidence') => {
  const place = { start: sampleIndex(403), end: sampleIndex(403) };
  return { id: `n-${kind}`, kind, ...place, text: marker(), ...(kind === 'evidence' ? { recorder: marker() } : {}) };
};
const noted = (kind: 'comment' | 'flag' | 'evidence'): Change => [{ op: 'note', before: null, after: note(kind) }];

const first = logOf(raters[0], 'rater', [
  { intent: 'delete', change: [{ op: 'marks', removed: [sampleIndex(203)], added: [] }] },
  { intent: 'comment', change: noted('comment') },
  { intent: 'flag', change: noted('flag') },
  { intent: 'evidence', change: noted('evidence'), at: '2023-05-07T16:17:18.000Z' },
  {
    intent: 'sign off',
    change: [
      {
        op: 'signOff',
        before: null,
        after: { segment: segments[0]!.name, at: '2023-05-06T16:17:18.000Z', reason: marker() },
      },
    ],
  },
  { intent: 'plan', recording: ids[0]!, change: [{ op: 'samplePlan', before: null, after: plan }] },
  { intent: 'unblind', recording: '', fact: { kind: 'unblinded', by: 'report', raters: [raters[1], marker()] } },
  { intent: 'reassign', recording: '', fact: { kind: 'reassigned', from: marker(), to: raters[0] } },
  { intent: 'finish', recording: '', reason: marker() },
]);
const second = logOf(raters[1], 'rater', [{ intent: 'finish', recording: '' }]);
const end = (log: EditLog) => ({ rater: log.header.rater, entries: log.entries.length, hash: lastHash(log) });
const settled = logOf(raters[2], 'adjudicator', [
  { intent: 'settle', recording: '', fact: { kind: 'settledLogs', a: end(first), b: end(second) } },
  { intent: 'finish', recording: '' },
]);

const inSession = Array.from({ length: planted }, (_, i) => `Qzx${i}`);

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

/** What the strip shows, with every name it can show. */
function picture(handling: Handling): ExportFile {
  const left = leaving({ session, logs: [first, second, settled] }, handling);
  const [{ recording }] = session.recordings as [Session['recordings'][number]];
  const verdicts = verdictsOf(detected, detected, [], 250);
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
  const view = { startSec: 0, mmPerSecond: 25, mmPerMv: 10, pxPerMm: 3.8, rows: 1, devicePixelRatio: 1 };
  const svg = stripPicture({
    model: leavingModel(model, left, handling),
    view: { ...view, theme: 'light', textScale: 1 } as never,
    width: 900,
    height: 400,
    notes: [left.session.title],
  });
  return { name: `${left.session.id}.svg`, blob: new Blob([svg]) };
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
    picture(handling),
  ];
}

/** Name and every byte of a file, those of a zip unpacked as well. */
async function textsOf({ name, blob }: ExportFile): Promise<string[]> {
  const bytes = new Uint8Array(await blob.arrayBuffer());
  const inside = name.endsWith('.zip') ? Object.entries(unzipSync(bytes)) : [];
  const latin1 = (part: Uint8Array) => Buffer.from(part).toString('latin1');
  return [name, latin1(bytes), ...inside.flatMap(([path, part]) => [path, latin1(part)])];
}

const nothing: Handling = { dates: 'drop', sources: 'drop', codes: 'drop', names: 'drop', remarks: 'drop' };

async function found(handling: Handling): Promise<{ file: string; secret: string }[]> {
  const out: { file: string; secret: string }[] = [];
  for (const file of await everything(handling)) {
    const texts = await textsOf(file);
    for (const secret of [...times, 'abababab', 'utcOffset']) {
      if (texts.some(t => t.includes(secret))) out.push({ file: file.name, secret });
    }
    for (const text of texts) for (const [secret] of text.matchAll(/Qzx\d+/g)) out.push({ file: file.name, secret });
  }
  return out;
}

test('with every option ticked, no byte of any export has a name, code, remark, date or time that came from a person', async () => {
  expect(await found(nothing)).toEqual([]);
});

test('the markers are seen where nothing is left out: each of them in some export', async () => {
  const seen = new Set((await found(keepAll)).map(f => f.secret));
  expect(inSession.filter(m => !seen.has(m))).toEqual([]);
  for (const time of times.slice(0, 2)) expect([...seen].some(s => s === time)).toBe(true);
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
