import { beforeAll, describe, expect, test, vi } from 'vitest';
import { append, type Draft, type EditLog, newLog, replay, verifyChain } from '../../../../src/core/marks/log';
import { type Handling, keepAll } from '../../../../src/core/review/privacy/identifying';
import { keepAllOfReturn, type ReturnHandling } from '../../../../src/core/review/privacy/leaving-handover';
import { logHeader, type Session } from '../../../../src/core/review/session';
import { sampleIndex } from '../../../../src/core/units';
import { readBundle } from '../../../../src/formats/bundle/reader';
import { writeBundle } from '../../../../src/formats/bundle/writer';
import { bytesSource, fileSource } from '../../../../src/formats/bytes/source';
import { assignmentEntry, openListedZip, returnPath } from '../../../../src/formats/handover/listed-zip';
import { assignmentFileSchema, returnFileSchema } from '../../../../src/formats/handover/records';
import type { ExportFile } from '../../../../src/state/export/exporting';
import { handOut } from '../../../../src/state/handover/handing-out';
import { receivedAssignments } from '../../../../src/state/handover/records';
import { returnFile } from '../../../../src/state/handover/returning';
import { takeReturn } from '../../../../src/state/handover/taking-back';
import { importBundle } from '../../../../src/state/import/bundle';
import { markedSession, marker, markersAfter, markersMade, words } from '../export/marked';
import { nothing, secretsIn } from '../export/secrets';
import { createPage } from '../page';

/** One browser for both sides: under other names the sessions of an assignment lie beside those they were made of. */
const app = createPage();
const before = markersMade();
const marked = [markedSession(), markedSession()];
const ids = marked.map(m => m.session.id);
const title = marker();
const planted = markersAfter(before);
const asFile = ({ name, blob }: ExportFile) => new File([blob], name);

beforeAll(async () => {
  for (const { session } of marked) {
    const bytes = writeBundle({ session, logs: [] }, () => words);
    await importBundle(app, new File([bytes], 'one.zip'));
  }
});

async function assignment(handling: Handling): Promise<File> {
  const plan = { title, sessions: ids, raters: ['R1'], doubleShare: 0, seed: 3, due: null, passphrase: '' };
  const [file] = await handOut(app, { ...plan, handling });
  return asFile(file!);
}

async function listOf(file: File) {
  return openListedZip(fileSource(file), assignmentEntry, assignmentFileSchema);
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
    const first = asFile(await returnFile(app, (await received(list.batch))!, keepAllOfReturn, ''));
    expect((await secretsIn([{ name: first.name, blob: first }])).filter(s => s.secret.startsWith('Qzx'))).toEqual([]);
    expect(await takeReturn(app, first)).toEqual([own.id]);
    // source: the same review written under the names of the session here
    expect(await app.library.log(own.id, 'R1')).toEqual(reviewOf(own));
    expect(verifyChain((await app.library.log(own.id, 'R1'))!).ok).toBe(true);

    await app.library.addLog(reviewOf(shown, 2));
    await takeReturn(app, asFile(await returnFile(app, (await received(list.batch))!, keepAllOfReturn, '')));
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
      const back = asFile(await returnFile(poor, (await received(list.batch))!, keepAllOfReturn, ''));
      expect((await openListedZip(fileSource(back), returnPath, returnFileSchema)).list.rater).toBe('R1');
      await expect(takeReturn(app, back)).rejects.toThrow(why);
      expect(await app.library.log(ids[1]!, 'R1')).toBeNull();
    }
  });
});

describe('what a rater returns', () => {
  const bare: ReturnHandling = { dates: 'drop', remarks: 'drop' };
  const at = (second: number) => `2023-05-06T16:17:${String(18 + second)}.250Z`;
  let batch: string;
  let shown: Session;
  let writing: readonly string[];

  /** Texts of a rater wherever a review can hold one: each is a marker of its own. */
  function written(entries: number): EditLog {
    const { recording, segments, detected } = shown.recordings[0]!;
    const place = { start: sampleIndex(403), end: sampleIndex(403) };
    const [comment, flag, why, gone] = writing as readonly [string, string, string, string];
    const note = <K extends 'comment' | 'flag'>(id: string, kind: K, text: string) => ({ id, kind, ...place, text });
    const signed = { segment: segments[0]!.name, at: at(4), reason: why };
    const drafts: readonly Omit<Draft, 'at' | 'recording'>[] = [
      { intent: 'delete', change: [{ op: 'marks', removed: [sampleIndex(detected[1]!)], added: [] }], reason: gone },
      { intent: 'comment', change: [{ op: 'note', before: null, after: note('c', 'comment', comment) }] },
      { intent: 'flag', change: [{ op: 'note', before: null, after: note('f', 'flag', flag) }] },
      { intent: 'comment', change: [{ op: 'note', before: note('c', 'comment', comment), after: null }], undoes: 1 },
      { intent: 'sign off', change: [{ op: 'signOff', before: null, after: signed }] },
    ];
    return drafts
      .slice(0, entries)
      .reduce<EditLog>(
        (log, draft, i) => append(log, { at: at(i), recording: recording.id, ...draft }).log,
        newLog(logHeader(shown, 'R1')),
      );
  }

  beforeAll(async () => {
    const file = await assignment(nothing);
    const { list } = await listOf(file);
    batch = list.batch;
    await app.importFiles([file]);
    shown = (await app.library.session(list.sessions[1]!.id))!;
    writing = Array.from({ length: 4 }, marker);
  });

  const back = async (handling: ReturnHandling) =>
    asFile(await returnFile(app, (await received(batch))!, handling, ''));
  const secretsOf = async (file: File) =>
    new Set((await secretsIn([{ name: file.name, blob: file }])).map(f => f.secret));
  const today = new Date().toISOString().slice(0, 10);

  test('has texts and times where nothing is left out', async () => {
    await app.library.addLog(written(5));
    const seen = await secretsOf(await back(keepAllOfReturn));
    expect([...writing, '2023-05-06', '16:17:18'].filter(secret => !seen.has(secret))).toEqual([]);
    await app.library.removeLog(written(5));
  });

  test('leaves out texts and dates, is taken back, and goes on with the same choice', async () => {
    await app.library.addLog(written(3));
    const first = await back(bare);
    expect([...(await secretsOf(first))]).toEqual([]);
    const opened = await openListedZip(fileSource(first), returnPath, returnFileSchema);
    expect(opened.list.returnedAt).toBe('');
    expect(new TextDecoder().decode(await opened.member(opened.list.sessions[0]!))).not.toContain(today);
    expect((await received(batch))!.returnedAs).toEqual(bare);
    await takeReturn(app, first);
    const own = marked[1]!.session.id;
    const kept = (await app.library.log(own, 'R1'))!;
    expect(kept.entries.map(e => e.at.slice(0, 19))).toEqual([0, 1, 2].map(s => `1970-01-01T00:00:0${s}`));

    await app.library.addLog(written(5));
    await expect(takeReturn(app, await back(keepAllOfReturn))).rejects.toThrow('ask for a return with the same choice');
    await takeReturn(app, await back(bare));
    const after = (await app.library.log(own, 'R1'))!;
    expect(after.entries).toHaveLength(5);
    expect(verifyChain(after).ok).toBe(true);
    // What was decided is the same; only words and times are not.
    const item = marked[1]!.session.recordings[0]!;
    const marksOf = (log: EditLog, id: string, of: Session) =>
      replay(log, new Map(of.recordings.map(r => [r.recording.id, r.detected]))).recordings.get(id)!.marks;
    expect(marksOf(after, item.recording.id, marked[1]!.session)).toEqual(
      marksOf(written(5), shown.recordings[0]!.recording.id, shown),
    );
  });

  test('moves days and keeps times of day', async () => {
    const file = await back({ dates: { shiftDays: -365 }, remarks: 'keep' });
    const opened = await openListedZip(fileSource(file), returnPath, returnFileSchema);
    const text = new TextDecoder().decode(await opened.member(opened.list.sessions[0]!));
    expect(text).toContain('2022-05-06T16:17:18.250Z');
    expect(text).not.toContain('2023-05-06');
    expect(text).toContain(writing[0]);
    expect(opened.list.returnedAt).not.toContain(today);
  });
});
