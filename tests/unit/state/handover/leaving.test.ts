import { beforeAll, describe, expect, test, vi } from 'vitest';
import { append, type EditLog, newLog, verifyChain } from '../../../../src/core/marks/log';
import { type Handling, keepAll } from '../../../../src/core/review/privacy/identifying';
import { logHeader, type Session } from '../../../../src/core/review/session';
import { sampleIndex } from '../../../../src/core/units';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { bytesSource, fileSource } from '../../../../src/formats/bytes/source';
import { assignmentPath, openListedZip, returnPath } from '../../../../src/formats/handover/listed-zip';
import { assignmentFileSchema, returnFileSchema } from '../../../../src/formats/handover/records';
import type { ExportFile } from '../../../../src/state/export/exporting';
import { handOut } from '../../../../src/state/handover/handing-out';
import { receivedAssignments } from '../../../../src/state/handover/records';
import { returnFile } from '../../../../src/state/handover/returning';
import { takeReturn } from '../../../../src/state/handover/taking-back';
import { importBundle } from '../../../../src/state/import/bundle';
import { allMarkers, markedSession, marker, words } from '../export/marked';
import { nothing, secretsIn } from '../export/secrets';
import { createPage } from '../page';

/** One browser for both sides: under other names the sessions of an assignment lie beside those they were made of. */
const app = createPage();
const marked = [markedSession(), markedSession()];
const ids = marked.map(m => m.session.id);
const title = marker();
const planted = allMarkers();
const asFile = ({ name, blob }: ExportFile) => new File([blob], name);

beforeAll(async () => {
  for (const { session } of marked) {
    const bytes = writeBundle({ session, logs: [] }, () => words);
    await importBundle(app, new File([bytes], 'one.zip'));
  }
}, 60_000);

async function assignment(handling: Handling): Promise<File> {
  const plan = { title, sessions: ids, raters: ['R1'], doubleShare: 0, seed: 3, due: null, passphrase: '' };
  const [file] = await handOut(app, { ...plan, handling });
  return asFile(file!);
}

async function listOf(file: File) {
  return openListedZip(fileSource(file), assignmentPath, assignmentFileSchema);
}

/** A review with a mark taken away, a comment that names the recorder, and a segment signed off. */
function reviewOf(session: Session, extra = 0): EditLog {
  const { recording, segments, detected } = session.recordings[0]!;
  const at = '2026-02-14T09:00:00.000Z';
  const place = { start: sampleIndex(403), end: sampleIndex(403) };
  const note = { id: 'n', kind: 'evidence', ...place, text: 'seen there', recorder: recording.recorder } as const;
  const signed = { segment: segments[0]!.name, at, reason: null };
  const drafts = [
    { intent: 'delete', change: [{ op: 'marks', removed: [detected[1]!], added: [] }] },
    { intent: 'evidence', change: [{ op: 'note', before: null, after: note }] },
    { intent: 'sign off', change: [{ op: 'signOff', before: null, after: signed }] },
    ...Array.from({ length: extra }, () => ({ intent: 'look', change: [] }) as const),
  ] as const;
  return drafts.reduce<EditLog>(
    (log, draft) => append(log, { at, recording: recording.id, ...draft } as Parameters<typeof append>[1]).log,
    newLog(logHeader(session, 'R1')),
  );
}

const received = async (batch: string) => (await receivedAssignments(app.library)).get(batch, 'R1');

describe('what is handed out as files', () => {
  test('leaves out, with everything ticked, whatever may identify a person', async () => {
    const file = await assignment(nothing);
    expect(await secretsIn([{ name: file.name, blob: file }])).toEqual([]);
    const { list, member } = await listOf(file);
    expect(list.rater).toBe('R1');
    for (const [i, listed] of list.sessions.entries()) {
      expect(listed.id).toMatch(/^[0-9a-f]{8}-session-[12]$/);
      const { reviewed, signalChecksums } = await readBundle(bytesSource('s.zip', await member(listed)));
      expect(reviewed.logs).toEqual([]);
      expect(reviewed.session.recordings.map(r => r.detected)).toEqual(
        marked[i]!.session.recordings.map(r => r.detected),
      );
      expect(listed.signals).toEqual(signalChecksums);
    }
  });

  test('has every marker where nothing is left out', async () => {
    const file = await assignment(keepAll);
    const seen = new Set((await secretsIn([{ name: file.name, blob: file }])).map(f => f.secret));
    const ofSessions = marked.flatMap(({ session }) => JSON.stringify(session).match(/Qzx\d+/g)!);
    expect([...new Set([...ofSessions, title])].filter(m => !seen.has(m))).toEqual([]);
    expect(planted).toContain(title);
  });

  test('two batches of the same sessions can be kept side by side', async () => {
    const lists = [(await listOf(await assignment(nothing))).list, (await listOf(await assignment(nothing))).list];
    const all = lists.flatMap(l => l.sessions.map(s => s.id));
    expect(new Set(all).size).toBe(4);
    expect(lists[0]!.batch).not.toBe(lists[1]!.batch);
  });

  test('comes back under the names kept here, and goes on from what came before', async () => {
    const file = await assignment(nothing);
    const { list } = await listOf(file);
    expect(await app.importFiles([file])).toEqual(list.sessions.map(s => s.id));
    const shown = (await app.library.session(list.sessions[0]!.id))!;
    const { session: own } = marked[0]!;
    await app.library.addLog(reviewOf(shown));
    const first = asFile(await returnFile(app, (await received(list.batch))!, ''));
    expect((await secretsIn([{ name: first.name, blob: first }])).filter(s => s.secret.startsWith('Qzx'))).toEqual([]);
    expect(await takeReturn(app, first)).toEqual([own.id]);
    // source: the same review written under the names of the session here
    expect(await app.library.log(own.id, 'R1')).toEqual(reviewOf(own));
    expect(verifyChain((await app.library.log(own.id, 'R1'))!).ok).toBe(true);

    await app.library.addLog(reviewOf(shown, 2));
    await takeReturn(app, asFile(await returnFile(app, (await received(list.batch))!, '')));
    expect((await app.library.log(own.id, 'R1'))!.entries).toHaveLength(5);
    // Taken in once more, the first changes nothing.
    await takeReturn(app, first);
    expect((await app.library.log(own.id, 'R1'))!.entries).toHaveLength(5);
  });

  test('a return on other marks, or with a broken chain, is refused under other names too', async () => {
    const file = await assignment(nothing);
    const { list } = await listOf(file);
    await app.importFiles([file]);
    const shown = (await app.library.session(list.sessions[1]!.id))!;
    const [first, ...rest] = shown.recordings;
    const otherMarks = { ...shown, recordings: [{ ...first!, detected: first!.detected.slice(1) }, ...rest] };
    const sound = reviewOf(shown);
    const bent = {
      ...sound,
      entries: sound.entries.map((e, i) => (i === 1 ? { ...e, at: '2026-02-15T09:00:00.000Z' } : e)),
    };
    for (const [log, why] of [
      [reviewOf(otherMarks), /judges other .*marks|other detected marks/],
      [bent, /the review is damaged after entry 1/],
    ] as const) {
      const poor = { ...app, library: { ...app.library, log: vi.fn(async () => log) } };
      const back = asFile(await returnFile(poor, (await received(list.batch))!, ''));
      expect((await openListedZip(fileSource(back), returnPath, returnFileSchema)).list.rater).toBe('R1');
      await expect(takeReturn(app, back)).rejects.toThrow(why);
      expect(await app.library.log(ids[1]!, 'R1')).toBeNull();
    }
  });
});
