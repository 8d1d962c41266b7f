import { describe, expect, test } from 'vitest';
import * as logs from '../../../../../src/core/marks/log';
import { marksFrom } from '../../../../../src/core/marks/markset';
import type { Refusal } from '../../../../../src/core/review/edits';
import { isMerged, type Merged, mergeSession } from '../../../../../src/core/review/raters/merge';
import { logHeader, type ReviewedSession, type Session } from '../../../../../src/core/review/session';
import { sampleIndex } from '../../../../../src/core/units';
import { recordingWith, sessionWith } from '../sample-session';

const item = recordingWith({ detected: [50, 150, 250] });
const session = sessionWith(item);

/** A log with one deletion or insertion per given sample; entry times follow the position. */
function logOf(rater: string, samples: readonly number[], of: Session = session): logs.EditLog {
  return samples.reduce(
    (log, sample, i) => {
      const at = new Date(Date.UTC(2026, 1, 15, 10, 0, i)).toISOString();
      const change = [{ op: 'marks' as const, removed: [], added: [sampleIndex(sample)] }];
      return logs.append(log, { at, recording: 'chest-band', intent: 'insert', change }).log;
    },
    logs.newLog(logHeader(of, rater)),
  );
}

const copy = (...list: logs.EditLog[]): ReviewedSession => ({ session, logs: list });

function merged(result: Merged | Refusal): Merged {
  if (!isMerged(result)) throw new Error(result.refused);
  return result;
}

const refused = (result: Merged | Refusal) => (isMerged(result) ? 'merged' : result.refused);

// source: the rules of merging in this project; every case planted.
describe('merging', () => {
  test('adds the other rater’s log, and a second time changes nothing', () => {
    const here = copy(logOf('R1', [10, 20]));
    const there = copy(logOf('R2', [30]));
    const once = merged(mergeSession(here, there));
    expect(once.merged.logs.map(l => l.header.rater)).toEqual(['R1', 'R2']);
    expect(once).toMatchObject({ added: ['R2'], extended: [], remarks: [] });
    const twice = merged(mergeSession(once.merged, there));
    expect(twice.merged).toEqual(once.merged);
    expect(twice).toMatchObject({ added: [], extended: [] });
    expect(merged(mergeSession(here, here)).merged).toEqual(here);
  });

  test('a log that goes on from ours is taken further; one that says less changes nothing', () => {
    const short = logOf('R1', [10]);
    const long = logOf('R1', [10, 20, 30]);
    const further = merged(mergeSession(copy(short), copy(long)));
    expect(further).toMatchObject({ extended: ['R1'], added: [] });
    expect(further.merged.logs).toEqual([long]);
    expect(merged(mergeSession(copy(long), copy(short))).merged.logs).toEqual([long]);
  });

  test('a log that parts from ours is refused with the first differing entry', () => {
    const why = refused(mergeSession(copy(logOf('R1', [10, 20, 30])), copy(logOf('R1', [10, 21, 30, 40]))));
    expect(why).toContain('part at entry 1');
    expect(why).toContain('2026-02-15T10:00:01.000Z');
  });

  test('a damaged log is refused, and nothing of the copy is taken', () => {
    const good = logOf('R3', [5]);
    const bad = logOf('R2', [30, 40, 60]);
    const dropped = { ...bad, entries: bad.entries.toSpliced(1, 1) };
    expect(refused(mergeSession(copy(), copy(good, dropped)))).toContain('The log of R2 is damaged: entry 1');
  });

  test('another recording or other detected marks are refused by name', () => {
    const other = (change: Partial<Session>): string =>
      refused(mergeSession(copy(), { session: { ...session, ...change }, logs: [] }));
    const recording = (part: object) => [{ ...item, recording: { ...item.recording, ...part } }];
    expect(other({ id: 'training-day-v02' })).toContain('session training-day-v01, the other training-day-v02');
    expect(other({ participant: 'V02' })).toContain('participant V01 here, V02 there');
    expect(other({ recordings: [] })).toContain('recording chest-band is missing there');
    expect(other({ recordings: [item, recordingWith({ detected: [], id: 'logger' })] })).toContain(
      'logger is only there',
    );
    expect(other({ recordings: recording({ samplingRateHz: 250 }) })).toContain('sampling rate 100 here, 250 there');
    expect(other({ recordings: recording({ sampleCount: 999 }) })).toContain('number of samples 1000 here, 999 there');
    expect(other({ recordings: [{ ...item, detected: marksFrom([50, 151, 250]) }] })).toContain(
      'chest-band: detected marks differ (3 here, 3 there)',
    );
    const signals = { here: { 'chest-band': 'aa' }, incoming: { 'chest-band': 'ab' } };
    expect(refused(mergeSession(copy(), copy(), signals))).toContain('signal of recording chest-band');
    expect(isMerged(mergeSession(copy(), copy(), { here: { 'chest-band': 'aa' } }))).toBe(true);
  });

  test('a log over other detected marks inside a right session is refused', () => {
    const moved = sessionWith({ ...item, detected: marksFrom([50, 151, 250]) });
    expect(refused(mergeSession(copy(), copy(logOf('R2', [], moved))))).toContain('judges other detected marks');
    const elsewhere = logOf('R2', [], { ...session, id: 'other' });
    expect(refused(mergeSession(copy(), copy(elsewhere)))).toContain('belongs to session other');
  });

  test('other settings and segments are remarked on, and those here are kept', () => {
    const there: Session = {
      ...session,
      settings: { ...session.settings, onPeakToleranceMs: 75 },
      recordings: [recordingWith({ detected: [50, 150, 250], segments: [['rest', 0, 500]] })],
    };
    const result = merged(mergeSession(copy(), { session: there, logs: [] }));
    expect(result.remarks).toHaveLength(2);
    expect(result.merged.session).toBe(session);
  });

  test('one code has one role', () => {
    const adjudicated = logs.newLog(logHeader(session, 'R1', 'adjudicator'));
    expect(refused(mergeSession(copy(logOf('R1', [10])), copy(adjudicated)))).toContain(
      'The code R1 is used here as rater and there as adjudicator',
    );
  });
});
