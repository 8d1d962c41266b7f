import { describe, expect, test } from 'vitest';
import { replay } from '../../../../src/core/marks/log';
import { keepAll } from '../../../../src/core/review/privacy/identifying';
import { detectedOf } from '../../../../src/core/review/session';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { readEdf } from '../../../../src/formats/edf/reader';
import type { App } from '../../../../src/state/app';
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
import { createSignals, type StoredLeads } from '../../../../src/state/review/signals';
import type { ReviewWorkspace } from '../../../../src/state/review/workspace';
import { createViewStore } from '../../../../src/state/stores/view-store';
import { madeSession } from '../../formats/bundle/reviewed';

const made = madeSession(['R1']);
const { session, logs } = made.reviewed;
const app = { now: () => new Date('2026-10-01T08:00:00Z') } as App;

/** A workspace of the made session; `change` says what of the signal is there. */
function workspaceOf(change: (leads: StoredLeads, id: string) => StoredLeads = leads => leads): ReviewWorkspace {
  const review = createReviewStore(
    { session, log: logs[0]!, others: [], access: { writable: true, why: null } },
    async () => undefined,
    app.now,
  );
  const signals = createSignals(session.recordings.map(r => r.recording));
  for (const { recording } of session.recordings) {
    const leads = recording.leads.map((lead, i) => memoryLead(lead, made.leads(recording.id, i)));
    signals.replace(recording.id, change(leads, recording.id));
  }
  const view = createViewStore();
  view.setState({ recordingId: 'chest-band' });
  return { review, signals, view, purpose: 'review' } as unknown as ReviewWorkspace;
}

const bytesOf = async ({ blob }: ExportFile) => new Uint8Array(await blob.arrayBuffer());
const latin1 = async (file: ExportFile) => Buffer.from(await bytesOf(file)).toString('latin1');

describe('what leaves with dates, files and codes left out', () => {
  const handling = { ...keepAll, dates: 'drop', sources: 'drop', codes: 'drop' } as const;
  const workspace = workspaceOf();

  test('EDF+ has X where the header identifies, and says no date', async () => {
    const [file] = await exportEdf(workspace, true, ['R1'], handling);
    const header = (await latin1(file!)).slice(0, 256);
    // source: Kemp & Olivan 2003, sections 2.1.3.3 and 2.1.3.4: code, sex, birth date, name; X is unknown
    expect(header.slice(8, 88).trim()).toBe('X X X X');
    expect(header.slice(88, 168).trim()).toBe('Startdate X X X chest_band');
    expect(header.slice(168, 184)).toBe('01.01.8500.00.00');
    expect(file!.name).toBe('session-recording-1-rater-1-reviewed.edf');
    const opened = await readEdf(bytesSource(file!.name, await bytesOf(file!)), {}, memorySink());
    expect(opened.recording.startedAt).toBeNull();
    expect(opened.dropped).toEqual([]);
  });

  test('a shifted start is in both date fields of EDF+', async () => {
    const [file] = await exportEdf(workspace, false, ['R1'], { ...keepAll, dates: { shiftDays: -365 } });
    const header = (await latin1(file!)).slice(0, 256);
    expect(header.slice(88, 168).trim()).toBe('Startdate 12-SEP-2025 X X chest_band');
    expect(header.slice(168, 184)).toBe('12.09.2509.00.03');
    expect(header.slice(8, 88).trim()).toBe('V01 X X X');
  });

  test('no table, sidecar or file name holds code, title, id, date or source', async () => {
    const files = [
      ...exportResults(app, workspace, ['R1'], handling),
      ...exportMarks(workspace, ['R1'], handling),
      ...exportIntervals(workspace, ['R1'], handling),
      ...exportAudit(workspace, ['R1'], handling),
      ...(await exportEdf(workspace, false, ['R1'], handling)),
    ];
    expect(files).toHaveLength(9);
    for (const file of files) {
      const all = file.name + (await latin1(file));
      for (const secret of ['V01', 'training', '2026-09-12', '12-SEP', 'made for this test'])
        expect(all, file.name).not.toContain(secret);
    }
    const plain = await latin1(exportResults(app, workspace, ['R1'])[1]!);
    for (const there of ['V01', '2026-09-12', 'made for this test']) expect(plain).toContain(there);
  });

  test('a bundle has other ids, its logs are tied to them, and it opens whole', async () => {
    const [file] = await exportBundle(workspace, 'as I see it', handling);
    const { reviewed, damaged } = await readBundle(bytesSource(file!.name, await bytesOf(file!)));
    expect(damaged).toEqual([]);
    expect(reviewed.session).toMatchObject({ id: 'session', participant: 'X', title: 'Session' });
    expect(reviewed.session.recordings[0]!.recording).toMatchObject({ startedAt: null, source: '' });
    expect(reviewed.logs[0]!.entries.map(e => e.intent)).toEqual(logs[0]!.entries.map(e => e.intent));
    const marks = (of: typeof reviewed, id: string) =>
      replay(of.logs[0]!, detectedOf(of.session)).recordings.get(id)!.marks;
    expect(marks(reviewed, 'recording-1')).toEqual(marks({ session, logs }, 'chest-band'));
  });
});

describe('a signal that is not here', () => {
  const absent = 'the signal of adhesive logger, lead A is not stored in this browser. Import the recording again';

  test('is named with the remedy before anything is written', async () => {
    const workspace = workspaceOf((leads, id) => (id === 'adhesive-logger' ? leads.with(0, undefined) : leads));
    await expect(exportBundle(workspace, 'blind rater')).rejects.toThrow(
      `Nothing was written: ${absent}, or the audit trail holds every entry of the log.`,
    );
    workspace.view.setState({ recordingId: 'adhesive-logger' });
    await expect(exportEdf(workspace, true, ['R1'])).rejects.toThrow(
      `Nothing was written: ${absent}, or export the annotations without the signal.`,
    );
    expect(await exportEdf(workspace, false, ['R1'])).toHaveLength(1);
  });

  test('does not hand its place to the lead after it', () => {
    const workspace = workspaceOf((leads, id) => (id === 'adhesive-logger' ? leads.with(0, undefined) : leads));
    expect(workspace.signals.source('adhesive-logger', 0)).toBeUndefined();
    expect(workspace.signals.source('adhesive-logger', 1)!.lead).toBe(session.recordings[1]!.recording.leads[1]);
  });

  test('is waited for while it is still being read', async () => {
    const half = (leads: StoredLeads): StoredLeads =>
      leads.map(l => l && { ...l, samples: { ...l.samples, sampleCount: l.samples.sampleCount / 2 } });
    await expect(exportBundle(workspaceOf(half), 'as I see it')).rejects.toThrow(/is still being read\. Wait until/);
  });
});
