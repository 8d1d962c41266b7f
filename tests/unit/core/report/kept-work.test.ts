import { beforeAll, describe, expect, test, vi } from 'vitest';
import type { ReportInput } from '../../../../src/core/report/beginning';
import { KeptWork } from '../../../../src/core/report/kept-work';
import type { FoundClock } from '../../../../src/core/report/pairs/recorder-pairs';
import { reportData, workOutAhead } from '../../../../src/core/report/report';
import type { ReviewedSession } from '../../../../src/core/review/session';
import { reportJson } from '../../../../src/report/files';
import { inputOf, sampleStudy } from './sample-study';

// source: definition
describe('kept parts', () => {
  test('are made again only when what they depend on is another, or was not asked for in the last round', () => {
    const kept = new KeptWork();
    const made = vi.fn((value: number) => ({ value }));
    const of = (name: string, ...from: unknown[]) => kept.of(name, from, () => made(from.length));
    const log = {};
    const first = of('a', log, 1);
    expect(of('a', log, 1)).toBe(first);
    kept.finish();
    expect(of('a', log, 1)).toBe(first);
    expect(of('a', log, 2)).not.toBe(first);
    expect(of('a', {}, 2)).not.toBe(first);
    expect(of('a', log)).toEqual({ value: 1 });
    kept.finish();
    kept.finish();
    of('a', log);
    expect(made).toHaveBeenCalledTimes(5);
  });
});

// source: the same report made from nothing
describe('a report with kept parts has the numbers of one made anew', () => {
  let sessions: ReviewedSession[];
  beforeAll(async () => {
    sessions = (await sampleStudy()).slice(1, 3);
  });

  test('whatever changes in between', () => {
    const kept = new KeptWork();
    const foundClocks = new Map<string, FoundClock>();
    const [first, second] = sessions as [ReviewedSession, ReviewedSession];
    const open = { session: second.session, logs: second.logs.map(l => ({ ...l, entries: l.entries.slice(0, -1) })) };
    const start = inputOf(sessions, 100);
    const withSettings = (given: ReportInput, more: Partial<ReportInput['settings']>): ReportInput => ({
      ...given,
      settings: { ...given.settings, ...more },
    });
    const { statistics, match } = start.settings;
    const letIn = withSettings({ ...start, sessions: [first, open] }, { includeUnfinished: true });
    const steps: ReportInput[] = [
      start,
      withSettings(start, { statistics: { ...statistics, bootstrap: { ...statistics.bootstrap, seed: 2 } } }),
      withSettings(start, { statistics: { ...statistics, margins: { rr: 5, heartRate: 1 } } }),
      withSettings(start, { match: { ...match, onPeakToleranceMs: 30 } }),
      { ...start, sessions: [first, open] },
      letIn,
      withSettings(start, {
        clocks: { [first.session.id]: { 'adhesive-logger': { offsetSeconds: 1, driftPpm: 0, from: 'by hand' } } },
      }),
      { ...start, sessions: [first] },
    ];
    for (const step of steps) {
      const again = reportData({ ...step, foundClocks, kept });
      const anew = reportData({ ...step, foundClocks });
      expect(reportJson(again.data) === reportJson(anew.data)).toBe(true);
      expect(again.strips).toEqual(anew.strips);
    }
  });

  test('worked out ahead, the parts of each session are those that the report uses, under its settings alone', () => {
    const input = { ...inputOf(sessions, 100), kept: new KeptWork(), foundClocks: new Map<string, FoundClock>() };
    for (const session of sessions) workOutAhead(input, session);
    const of = vi.spyOn(input.kept, 'of');
    const ahead = reportData(input);
    const anew = reportData(inputOf(sessions, 100));
    expect(reportJson(ahead.data) === reportJson(anew.data)).toBe(true);
    expect(ahead.strips).toEqual(anew.strips);
    const partsOf = (id: string) => of.mock.calls.map(([name]) => name).filter(name => name.split(' ').includes(id));
    for (const { session } of sessions) expect(partsOf(session.id).length).toBeGreaterThan(8);
    const fresh = new KeptWork();
    for (const session of sessions) workOutAhead({ ...input, kept: fresh }, session);
    const otherMatch = { ...input.settings, match: { ...input.settings.match, onPeakToleranceMs: 30 } };
    const other = reportData({ ...input, settings: otherMatch, kept: fresh });
    const otherAnew = reportData({ ...inputOf(sessions, 100), settings: otherMatch });
    expect(reportJson(other.data) === reportJson(otherAnew.data)).toBe(true);
  });

  test('one review changed leaves the parts of the others as they are', () => {
    const kept = new KeptWork();
    const input = { ...inputOf(sessions, 100), kept };
    const before = reportData(input).data;
    const [first, ...rest] = sessions;
    const after = reportData({ ...input, sessions: [{ ...first! }, ...rest] }).data;
    const isKept = after.hrv.effects.map((effect, i) => effect === before.hrv.effects[i]);
    const isOfFirst = after.hrv.effects.map(effect => effect.session === first!.session.id);
    expect(isKept).toEqual(isOfFirst.map(own => !own));
    expect(reportJson(after) === reportJson(before)).toBe(true);
  });
});
