import { describe, expect, test } from 'vitest';
import * as logs from '../../../../../src/core/marks/log';
import {
  exportableLogs,
  hasRated,
  isBlind,
  isFinished,
  raterLabel,
  unblindedDraft,
  type Viewer,
  visibleLogs,
  visibleTo,
} from '../../../../../src/core/review/raters/blind';
import { logHeader } from '../../../../../src/core/review/session';
import { recordingWith, sessionWith } from '../sample-session';

const session = sessionWith(recordingWith({ detected: [50, 150, 250] }));

function logOf(rater: string, intents: readonly logs.Intent[], role: logs.LogHeader['role'] = 'rater'): logs.EditLog {
  return intents.reduce(
    (log, intent) =>
      logs.append(log, { at: '2026-02-15T10:00:00Z', recording: '', intent, change: [], reason: `by ${rater}` }).log,
    logs.newLog(logHeader(session, rater, role)),
  );
}

const done = logOf('R1', ['finish']);
const open = logOf('R2', ['accept']);
const reopened = logOf('R3', ['finish', 'restart']);
const settled = logOf('S1', ['settle'], 'adjudicator');
const all = { session, logs: [done, open, reopened, settled] };
const seen = (viewer: Viewer, reviewed = all) => visibleLogs(reviewed, viewer).map(l => l.header.rater);

// source: the blinding rules of this project.
describe('blind rating', () => {
  test('finished means finished last', () => {
    expect([done, open, reopened].map(isFinished)).toEqual([true, false, false]);
    expect(isFinished(logOf('R1', ['finish', 'restart', 'finish']))).toBe(true);
    expect(isFinished(logOf('R1', []))).toBe(false);
  });

  test('looking is no rating: it hides nobody’s review from who settles', () => {
    const looker = logOf('S2', ['look', 'look']);
    expect([looker, open].map(hasRated)).toEqual([false, true]);
    expect(visibleLogs({ session, logs: [done, looker] }, { rater: 'S2', role: 'adjudicator' })).toEqual([done]);
  });

  test('what is rated after other reviews could be seen is not blind, whatever comes later', () => {
    const shown = unblindedDraft('2026-02-15T11:00:00Z', 'report', ['R1']);
    const then = (log: logs.EditLog, ...intents: logs.Intent[]) =>
      intents.reduce((l, intent) => logs.append(l, { at: 'x', recording: '', intent, change: [] }).log, log);
    const after = logs.append(logOf('R1', ['accept', 'finish']), shown).log;
    expect([isBlind(after), isBlind(then(after, 'look')), isBlind(then(after, 'restart', 'accept'))]).toEqual([
      true,
      true,
      false,
    ]);
    const from = logs.append(logOf('R2', []), shown).log;
    expect(isBlind(then(from, 'accept', 'finish'))).toBe(false);
    expect(raterLabel(then(from, 'accept'))).toBe('R2, not blind');
    expect(raterLabel(open)).toBe('R2');
    expect(from.entries[0]).toMatchObject({ intent: 'unblind', change: [], fact: { by: 'report', raters: ['R1'] } });
  });

  test('before finishing, a rater sees their own log alone; one who has not begun sees none', () => {
    expect(seen({ rater: 'R2', role: 'rater' })).toEqual(['R2']);
    expect(seen({ rater: 'R3', role: 'rater' })).toEqual(['R3']);
    expect(seen({ rater: 'R4', role: 'rater' })).toEqual([]);
    expect(seen({ rater: 'R4', role: 'learner' })).toEqual([]);
  });

  test('after finishing they see all', () => {
    expect(seen({ rater: 'R1', role: 'rater' })).toEqual(['R1', 'R2', 'R3', 'S1']);
  });

  test('settling shows finished logs and one’s own, unless one still rates', () => {
    expect(seen({ rater: 'S1', role: 'adjudicator' })).toEqual(['R1', 'S1']);
    expect(seen({ rater: 'R2', role: 'adjudicator' })).toEqual([]);
    const both = { session, logs: [...all.logs, logOf('R2', ['settle'], 'adjudicator')] };
    expect(visibleLogs(both, { rater: 'R2', role: 'rater' })).toEqual([open]);
  });

  test('nothing of a hidden log is in what is shown or exported', () => {
    for (const viewer of [
      { rater: 'R2', role: 'rater' },
      { rater: 'R2', role: 'adjudicator' },
    ] as const) {
      const text = JSON.stringify([visibleTo(all, viewer).logs, exportableLogs(all, viewer, 'as I see it')]);
      for (const other of ['by R1', 'by R3', 'by S1']) expect(text).not.toContain(other);
      for (const log of [done, reopened, settled]) expect(text).not.toContain(log.entries[0]!.hash);
    }
  });

  test('a bundle for a blind rater carries no log, whoever makes it', () => {
    expect(exportableLogs(all, { rater: 'R1', role: 'rater' }, 'blind rater')).toEqual([]);
    expect(exportableLogs(all, { rater: 'R1', role: 'rater' }, 'as I see it')).toHaveLength(4);
  });
});
