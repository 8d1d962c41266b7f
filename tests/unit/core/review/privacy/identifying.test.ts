import { describe, expect, test } from 'vitest';
import { append, newLog, replay, verifyChain } from '../../../../../src/core/marks/log';
import { marksFrom } from '../../../../../src/core/marks/markset';
import { defaultMatchSettings } from '../../../../../src/core/marks/match';
import { identifyingFields, keepAll } from '../../../../../src/core/review/privacy/identifying';
import { leaving } from '../../../../../src/core/review/privacy/leaving';
import { detectedOf, logHeader, type Session } from '../../../../../src/core/review/session';
import { span } from '../../../../../src/core/units';

const session: Session = {
  id: 's7',
  title: 'Training day',
  participant: 'V07',
  settings: defaultMatchSettings,
  recordings: [
    {
      recording: {
        id: 'band',
        recorder: 'chest band',
        samplingRateHz: 250,
        sampleCount: 1000,
        startedAt: '2026-02-28T23:59:01.5',
        leads: [],
        gaps: [],
        source: 'jo-smith-28-feb.edf (EDF+)',
      },
      detected: marksFrom([10, 300]),
      detectedBy: 'chest band',
      segments: [{ name: 'seated radio watch', ...span(0, 1000) }],
    },
  ],
};

const note = { id: 'n1', kind: 'comment' as const, ...span(10, 10), text: 'Jo coughed' };
const first = append(newLog(logHeader(session, 'R1')), {
  at: '2026-03-02T08:00:00.000Z',
  recording: 'band',
  intent: 'comment',
  change: [{ op: 'note', before: null, after: note }],
});
const { log } = append(first.log, {
  at: '2026-03-04T08:00:00.000Z',
  recording: 'band',
  intent: 'reopen',
  change: [],
  reason: 'asked by the clinic',
});

const handled = (given: Session, handling: typeof keepAll) => leaving({ session: given, logs: [] }, handling).session;

describe('identifying fields', () => {
  test('lists everything that may lead to a person', () => {
    expect(identifyingFields({ session, logs: [log] }).map(f => [f.field, f.value, f.goesInto.join()])).toEqual([
      ['participant code', 'V07', 'results,EDF+,bundle'],
      ['title', 'Training day', 'results,bundle'],
      ['session id, also in file names', 's7', 'results,marks,EDF+,audit,bundle'],
      ['recording id, also in file names', 'band', 'results,marks,EDF+,audit,bundle'],
      ['recorder of band', 'chest band', 'results,EDF+,bundle'],
      ['start of band', '2026-02-28T23:59:01.5', 'results,EDF+,bundle'],
      ['source file of band', 'jo-smith-28-feb.edf (EDF+)', 'results,bundle'],
      ['origin of the marks of band', 'chest band', 'results,bundle'],
      ['segment names of band', 'seated radio watch', 'results,marks,EDF+,bundle'],
      ['rater code, also in file names', 'R1', 'results,marks,EDF+,audit,bundle'],
      ['days of review by R1', '2026-03-02 to 2026-03-04', 'results,audit,bundle'],
      ['text by R1', 'Jo coughed', 'results,audit,bundle'],
      ['text by R1', 'asked by the clinic', 'results,audit,bundle'],
    ]);
  });

  test('dates shift by whole days over month and leap day, the time of day stays', () => {
    // source: the Gregorian calendar; 2024 has a 29 February, 2026 has none
    const starts = [1, -365, -730, -731].map(shiftDays => {
      const { recordings } = handled(session, { ...keepAll, dates: { shiftDays } });
      return recordings[0]!.recording.startedAt;
    });
    expect(starts).toEqual([
      '2026-03-01T23:59:01.5',
      '2025-02-28T23:59:01.5',
      '2024-02-29T23:59:01.5',
      '2024-02-28T23:59:01.5',
    ]);
  });

  test('what is left out is gone, and nothing else', () => {
    const into = { ...keepAll, dates: 'drop', sources: 'drop' } as const;
    const { recording } = handled(session, into).recordings[0]!;
    expect(recording).toEqual({ ...session.recordings[0]!.recording, startedAt: null, source: '' });
    expect(handled(session, keepAll)).toEqual(session);
    const kept = leaving({ session, logs: [log] }, { ...keepAll, sources: 'drop' });
    expect(kept.logs[0]).toBe(log);
  });

  test('codes go with the ids, and the log is written again for them, with a chain that holds', () => {
    const left = leaving({ session, logs: [log] }, { ...keepAll, codes: 'drop' });
    expect(left.session).toMatchObject({ id: 'session', participant: 'X', title: 'Session' });
    expect(left.session.recordings[0]!.recording.id).toBe('recording-1');
    expect(left.logs[0]!.header).toMatchObject({ session: 'session', rater: 'rater-1' });
    expect(Object.keys(left.logs[0]!.header.detected)).toEqual(['recording-1']);
    expect(verifyChain(left.logs[0]!)).toEqual({ ok: true });
    const notes = (of: typeof left) => replay(of.logs[0]!, detectedOf(of.session)).recordings.get('recording-1')!.notes;
    expect(notes(left)).toEqual([note]);
    expect(notes(leaving({ session, logs: [log] }, { ...keepAll, codes: 'drop', remarks: 'drop' }))).toEqual([
      { ...note, text: '(left out)' },
    ]);
  });

  test('times of a review move with the dates, or count from 1970', () => {
    const times = (dates: typeof keepAll.dates) =>
      leaving({ session, logs: [log] }, { ...keepAll, dates }).logs[0]!.entries.map(e => e.at);
    expect(times({ shiftDays: -2 })).toEqual(['2026-02-28T08:00:00.000Z', '2026-03-02T08:00:00.000Z']);
    expect(times('drop')).toEqual(['1970-01-01T00:00:00.000Z', '1970-01-03T00:00:00.000Z']);
  });

  test('marks from a list no longer name its file; those of a recorder or detector stay theirs', () => {
    const origins = ['jo-smith.csv', 'chest band', 'chest band, its own marks', 'built-in detector 1'].map(
      detectedBy => {
        const recordings = [{ ...session.recordings[0]!, detectedBy }];
        return handled({ ...session, recordings }, { ...keepAll, sources: 'drop' }).recordings[0]!.detectedBy;
      },
    );
    expect(origins).toEqual(['a list of marks', 'chest band', 'chest band, its own marks', 'built-in detector 1']);
  });
});
