import { describe, expect } from 'vitest';
import { append, draftOf, newLog } from '../../../../src/core/marks/log';
import { raterLabel } from '../../../../src/core/review/raters/blind';
import { driftByWeek } from '../../../../src/core/review/raters/drift';
import { logHeader } from '../../../../src/core/review/session';
import { sampleIndex } from '../../../../src/core/units';
import type { RemoteStore } from '../../../../src/remote/remote-store';
import { sendLog } from '../../../../src/remote/send-log';
import { signOffLog } from '../../../../src/remote/sign-off';
import { makeStudyFolders } from '../../../../src/remote/study';
import { openReview } from '../../../../src/state/review/opening';
import { hasSeenOthers, saveUnblinding, sessionsToAskAbout } from '../../../../src/state/review/unblinding';
import { newBoardMemory, readBoard, takeSignedOff } from '../../../../src/state/sharing/board';
import { fetchAssigned } from '../../../../src/state/sharing/fetching';
import {
  comparedSessions,
  hiddenSessions,
  isHidden,
  withoutAgreement,
} from '../../../../src/state/sharing/hidden-agreement';
import { assignBatch, noteHeads } from '../../../../src/state/sharing/supervising';
import { newStudy, saveStudy } from '../../../../src/state/study/studies';
import { unsteady } from '../../remote/memory-store';
import { bundleOf } from '../page';
import { beginning, type Study, signIn, test } from './study';

describe('a study over a store', () => {
  test('a batch is sent, drawn and assigned; the same again changes nothing', async ({
    study: { store, app, supervisor, batch, board },
  }) => {
    const lines = await board();
    expect(lines.map(l => l.rater).sort()).toEqual(['A1', 'R1', 'R2']);
    expect(lines.map(l => l.place).sort()).toEqual(['first', 'second', 'settles']);
    expect(lines.every(l => l.due === '2026-03-01' && l.progress === null)).toBe(true);
    const names = () => [...store.files.keys()].filter(path => /^(sessions|assign|settle)/.test(path));
    const before = names();
    await assignBatch(app, supervisor, batch);
    expect(names()).toEqual(before);
    await expect(assignBatch(app, supervisor, { ...batch, settler: 'R1' })).rejects.toThrow('R1 rates');
    await expect(assignBatch(app, supervisor, { ...batch, raters: ['R 1'] })).rejects.toThrow('"R 1"');
    const calibration = { ...batch, calibration: true };
    await expect(assignBatch(app, supervisor, calibration)).rejects.toThrow('are not settled');
    const alone = { ...calibration, settler: null, raters: ['R1'] };
    await expect(assignBatch(app, supervisor, alone)).rejects.toThrow('one more');
    // A code in other letters is nobody else.
    await expect(assignBatch(app, supervisor, { ...batch, settler: 'r1' })).rejects.toThrow('r1 rates');
    for (const raters of [['R5', 'r5'], ['r1']]) {
      await expect(assignBatch(app, supervisor, { ...batch, raters })).rejects.toThrow('in capital letters only');
    }
    expect(names()).toEqual(before);
    expect(store.folders.has('assign/r1/')).toBe(false);
  });

  test('codes of an older study that are alike do not keep a supervisor from assigning', async ({
    study: { store, app, supervisor, batch },
  }) => {
    await makeStudyFolders(store, ['r1']);
    await assignBatch(app, supervisor, { ...batch, raters: ['R1', 'R3'], settler: null });
    expect(store.folders.has('assign/R3/')).toBe(true);
    const alike = { ...batch, raters: ['R1', 'r1'], settler: null };
    await expect(assignBatch(app, supervisor, alike)).rejects.toThrow('in capital letters only');
    await expect(assignBatch(app, supervisor, { ...batch, raters: ['r3'] })).rejects.toThrow('R3 and r3 differ');
  });

  test('a rater fetches the session, and the finished log is sent and signed off', async ({
    study: { store, app, made, id, ofR1, board, sent, send },
  }) => {
    await app.library.removeSession(id);
    await signIn(app, 'R1', 'rater', store);
    await fetchAssigned(app, app.labStore, id);
    expect((await app.library.session(id))?.title).toBe(made.session.title);
    expect(await app.library.raters(id)).toEqual([]);
    await app.library.addLog(ofR1);
    await send();
    expect(sent()).toEqual({ state: 'sent', entries: 6 });
    expect(app.labStore.store.getState().signedOff.has(id)).toBe(true);
    const line = (await board()).find(l => l.rater === 'R1')!;
    expect(line).toMatchObject({ signedOffEntries: 6, later: 0, problems: [], agreement: null });
    expect(line.progress!.entries).toBe(6);
  });

  test('who has signed off gets the other review, the supervisor both and their agreement', async ({
    study: { store, app, id, ofR1, ofR2, supervisor, board, send },
  }) => {
    for (const log of [ofR1, ofR2]) {
      await sendLog(store, log, { seen: 0, signedOff: false });
      if (log === ofR1) await signOffLog(store, log, '2026-02-14T09:00:00.000Z');
    }
    await signIn(app, 'R2', 'rater', store);
    await app.library.addLog(ofR2);
    expect(await app.library.raters(id)).toEqual(['R2']);
    await send();
    expect((await app.library.raters(id)).slice().sort()).toEqual(['R1', 'R2']);
    const lines = await board();
    expect(
      lines
        .filter(l => l.agreement?.f1.value != null)
        .map(l => l.rater)
        .sort(),
    ).toEqual(['R1', 'R2']);
    expect(await noteHeads(app, supervisor, lines)).toBe(1);
    await app.library.removeSession(id);
    await app.importFiles([bundleOf(id, []).file]);
    expect(await takeSignedOff(app.library, supervisor, lines)).toBe(2);
    expect(await takeSignedOff(app.library, supervisor, lines)).toBe(0);
  });

  test('a second look reads nothing of what stands, and what was added', async ({
    study: { store, app, id, ofR1 },
  }) => {
    const asked: string[] = [];
    const listening: RemoteStore = {
      create: (path, bytes) => store.create(path, bytes),
      folder: path => store.folder(path),
      list: path => store.list(path),
      read: path => {
        asked.push(path);
        return store.read(path);
      },
    };
    await sendLog(store, beginning(ofR1, 4), { seen: 0, signedOff: false });
    const memory = newBoardMemory();
    const look = async () => {
      asked.length = 0;
      const lines = await readBoard(app.library, { remote: listening }, memory);
      return lines.find(l => l.rater === 'R1')!;
    };
    expect((await look()).progress!.entries).toBe(4);
    expect(asked.filter(path => path.startsWith('logs/'))).toHaveLength(1);
    expect((await look()).progress!.entries).toBe(4);
    expect(asked).toEqual([]);
    await sendLog(store, ofR1, { seen: 4, signedOff: false });
    expect((await look()).progress!.entries).toBe(6);
    expect(asked).toHaveLength(1);
    await signOffLog(store, ofR1, '2026-02-14T09:00:00.000Z');
    expect(await look()).toMatchObject({ signedOffEntries: 6, later: 0 });
    // What comes after the sign-off, and a session that is no longer kept here, change the line as well.
    const later = append(ofR1, { at: '2026-02-15T09:00:00.000Z', recording: '', intent: 'reopen', change: [] }).log;
    await sendLog(store, later, { seen: 6, signedOff: true });
    expect(await look()).toMatchObject({ signedOffEntries: 6, later: 1 });
    await app.library.removeSession(id);
    expect(await look()).toMatchObject({ progress: null, later: 1 });
  });

  test('calibration sessions go to everybody, are marked, and are held against the reference rater', async ({
    study: { store, app, id, supervisor, batch, board },
  }) => {
    const one = bundleOf(`${id}-cal`, ['R1', 'R2']);
    await app.importFiles([bundleOf(one.session.id, []).file]);
    const given = { ...batch, sessions: [one.session.id], raters: ['R2', 'R1', 'R3'], settler: null };
    await assignBatch(app, supervisor, { ...given, calibration: true });
    await expect(assignBatch(app, supervisor, { ...batch, calibration: true })).rejects.toThrow('not settled');
    for (const log of one.logs) {
      await sendLog(store, log, { seen: 0, signedOff: false });
      await signOffLog(store, log, '2026-02-14T09:00:00.000Z');
    }
    const lines = (await board()).filter(l => l.session === one.session.id);
    expect(lines.map(l => [l.rater, l.place, l.calibration])).toEqual([
      ['R2', 'first', true],
      ['R1', 'second', true],
      ['R3', 'second', true],
    ]);
    expect(lines.map(l => l.agreement !== null)).toEqual([true, true, false]);
    expect((await board()).filter(l => l.session === id).some(l => l.calibration)).toBe(false);
  });

  test('a session given once more goes to who had it before, and is held against their own first review', async ({
    study: { store, app, made, id, ofR1, supervisor, batch, board },
  }) => {
    await sendLog(store, ofR1, { seen: 0, signedOff: false });
    await signOffLog(store, ofR1, '2026-02-14T09:00:00.000Z');
    const again = { ...batch, raters: ['R1', 'R3'], settler: null, repeats: true };
    const asked = { passPercent: 70, difficulty: 3 } as const;
    await saveStudy(app.library, {
      ...newStudy(`Asking ${id}`, new Date(0)),
      sessions: [id],
      requiredPractice: asked,
    });
    await assignBatch(app, supervisor, again);
    await expect(assignBatch(app, supervisor, { ...again, raters: ['R3'] })).rejects.toThrow('given to none of R3');
    await expect(assignBatch(app, supervisor, { ...again, settler: 'A1' })).rejects.toThrow('no settler');
    const copies = async () => (await board()).filter(l => l.repeats !== null);
    expect((await copies()).map(l => [l.rater, l.repeats, l.place, l.title])).toEqual([
      ['R1', id, 'first', `${made.session.title}, again`],
    ]);
    const copy = (await copies())[0]!.session;
    // Nothing in it names the session, the volunteer or the day.
    expect(copy).toMatch(/^[0-9a-f]{8}-session$/);
    await signIn(app, 'R1', 'rater', store);
    await fetchAssigned(app, app.labStore, copy);
    const session = (await app.library.session(copy))!;
    expect(session.requiredPractice).toEqual([asked]);
    expect([session.participant, session.recordings.map(r => r.recording.startedAt)]).toEqual(['X', [null, null]]);
    // The same decisions once more, under the names of the copy.
    const names = new Map(made.session.recordings.map((r, i) => [r.recording.id, session.recordings[i]!.recording.id]));
    const same = ofR1.entries
      .map(draftOf)
      .reduce(
        (log, draft) => append(log, { ...draft, recording: names.get(draft.recording) ?? '' }).log,
        newLog(logHeader(session, 'R1')),
      );
    await sendLog(store, same, { seen: 0, signedOff: false });
    expect((await copies())[0]!.agreement).toBeNull();
    await signOffLog(store, same, '2026-03-14T09:00:00.000Z');
    const [line] = await copies();
    expect(line!.agreement!.f1.value).toBe(1);
    expect(line!.agreement!.disagreements).toBe(0);
    expect(line!.progress!.entries).toBe(6);
    const reviews = [line!, (await board()).find(l => l.session === id && l.rater === 'R1')!].map(l => {
      return {
        rater: 'R1',
        signedOffAt: l.signedOffAt!,
        calibration: false,
        repeated: l.repeats !== null,
        work: l.progress,
        agreement: l.agreement,
      };
    });
    expect(driftByWeek(reviews).map(w => [w.week, w.repeated, w.f1.value])).toEqual([
      ['2026-W07', false, null],
      ['2026-W11', true, 1],
    ]);
    expect(await takeSignedOff(app.library, supervisor, [line!])).toBe(0);
    // It tells of the reviews of the session, and is hidden from who may still rate that.
    await app.library.addLog(ofR1);
    expect((await hiddenSessions(app, [line!], 'R7')).map(s => s.id)).toEqual([id]);
    const hidden = new Set(comparedSessions([line!]));
    expect([...hidden]).toEqual([id]);
    expect(isHidden(line!, hidden)).toBe(true);
    expect(withoutAgreement([line!], hidden)[0]!.agreement).toBeNull();
  });

  test('a settler gets what is signed off', async ({ study: { store, app, id, ofR1, ofR2, send } }) => {
    await sendLog(store, ofR1, { seen: 0, signedOff: false });
    await sendLog(store, ofR2, { seen: 0, signedOff: false });
    await signOffLog(store, ofR2, '2026-02-14T09:00:00.000Z');
    await signIn(app, 'A1', 'rater', store);
    await send();
    expect(await app.library.raters(id)).toEqual(['R2']);
  });

  test('a settler is not asked before the reviews are shown, and a rating of theirs would not be blind', async ({
    study: { store, app, id, ofR1 },
  }) => {
    await app.library.addLog(ofR1);
    const ask = (code: string) => sessionsToAskAbout(app, [id], code, 'comparison');
    await signIn(app, 'R2', 'rater', store);
    expect((await ask('R2')).map(s => s.id)).toEqual([id]);
    // Under another code than the one that is signed in nobody is known to settle.
    await signIn(app, 'A1', 'rater', store);
    expect((await ask('R7')).map(s => s.id)).toEqual([id]);
    expect(await ask('A1')).toEqual([]);
    expect(await hasSeenOthers(app.library, id, 'A1')).toBe(true);
    expect(await hasSeenOthers(app.library, id, 'R2')).toBe(false);
  });

  describe('agreement on the board', () => {
    const signedOff = async (study: Study) => {
      const { store, ofR1, ofR2, board, id } = study;
      for (const log of [ofR1, ofR2]) {
        await sendLog(store, log, { seen: 0, signedOff: false });
        await signOffLog(store, log, '2026-02-14T09:00:00.000Z');
      }
      return (await board()).filter(l => l.session === id);
    };

    test('is hidden from who may still rate the session, and not from who has signed it off', async ({ study }) => {
      const { app, made, id } = study;
      const lines = await signedOff(study);
      expect(lines.filter(l => l.agreement !== null).map(l => l.rater)).toEqual(['R2', 'R1']);
      expect(await hiddenSessions(app, lines, 'boss')).toEqual([
        { id, title: made.session.title, raters: ['R2', 'R1'], begun: false },
      ]);
      expect(await hiddenSessions(app, lines, 'R1')).toEqual([]);
      const shown = withoutAgreement(lines, new Set([id]));
      expect(shown.every(l => l.agreement === null)).toBe(true);
      expect(withoutAgreement(lines, new Set(['another']))).toEqual(lines);
      // Of a code that has begun on another machine only the store knows.
      const begun = lines.map(l => (l.rater === 'R1' ? { ...l, signedOffAt: null } : l));
      expect(await hiddenSessions(app, begun, 'R1')).toMatchObject([{ id, begun: true, raters: ['R2'] }]);
      expect(await hiddenSessions(app, begun, 'r1')).toMatchObject([{ id, begun: true }]);
      expect(await hiddenSessions(app, lines, 'r1')).toMatchObject([{ id, begun: false }]);
    });

    test('once shown it is kept: a review begun afterwards starts with it and is not blind', async ({ study }) => {
      const { app, made, id } = study;
      const lines = await signedOff(study);
      await saveUnblinding(app, await hiddenSessions(app, lines, 'boss'), 'boss', 'store');
      expect(await hiddenSessions(app, lines, 'boss')).toEqual([]);
      const opened = await openReview(app, made.session, 'boss');
      const mark = sampleIndex(made.session.recordings[0]!.detected[0]!);
      const change = [{ op: 'marks' as const, removed: [mark], added: [] }];
      opened.review.act({ recording: 'chest-band', intent: 'delete', change });
      await opened.close();
      const log = (await app.library.log(id, 'boss'))!;
      expect(log.entries[0]!.fact).toEqual({ kind: 'unblinded', by: 'store', raters: ['R2', 'R1'] });
      expect(raterLabel(log)).toBe('boss, not blind');
      expect(await hiddenSessions(app, lines, 'boss')).toEqual([]);
    });
  });

  test('offline is reported, and the log is sent later', async ({ study: { store, app, ofR1, sent, send } }) => {
    let online = false;
    await signIn(app, 'R1', 'rater', store);
    const { signedIn } = app.labStore.store.getState();
    const poor = unsteady(store, () => (online ? 'no' : 'request'));
    app.labStore.store.setState({ signedIn: { ...signedIn!, remote: poor } });
    await app.library.addLog(ofR1);
    await send();
    expect(sent()).toEqual({ state: 'not sent', why: 'offline' });
    online = true;
    await send();
    expect(sent()).toEqual({ state: 'sent', entries: 6 });
  });

  test('a finished review that is open gets the others that are signed off; an unfinished one stays blind', async ({
    study: { store, app, made, ofR1, ofR2, send },
  }) => {
    for (const log of [ofR2, ofR1]) await sendLog(store, log, { seen: 0, signedOff: false });
    await signOffLog(store, ofR2, '2026-02-14T09:00:00.000Z');
    await signIn(app, 'R1', 'rater', store);
    await app.library.addLog(beginning(ofR1, 4));
    const blind = await openReview(app, made.session, 'R1');
    await send(blind.review);
    expect(blind.review.get().others).toEqual([]);
    await blind.close();
    await app.library.addLog(ofR1);
    const opened = await openReview(app, made.session, 'R1');
    await send(opened.review);
    expect(opened.review.get().others.map(l => l.header.rater)).toEqual(['R2']);
    await opened.close();
  });

  test('who signs off nothing to see the others is shown so', async ({ study: { store, ofR2, board } }) => {
    await signOffLog(store, beginning(ofR2, 0), '2026-02-14T09:00:00.000Z');
    expect((await board()).find(l => l.rater === 'R2')).toMatchObject({ signedOffEntries: 0, agreement: null });
  });
});
