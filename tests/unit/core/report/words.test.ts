import { beforeAll, describe, expect, test } from 'vitest';
import { append, detectedChecksum, type EditLog, lastHash, newLog } from '../../../../src/core/marks/log';
import { type ReportData, reportData } from '../../../../src/core/report/report';
import type { ReviewedSession } from '../../../../src/core/review/session';
import type { SampleIndex } from '../../../../src/core/units';
import { reportBody } from '../../../../src/report/html';
import { Rater } from '../review/standing/sampled-session';
import { inputOf, sampleStudy } from './sample-study';

let sessions: ReviewedSession[];
beforeAll(async () => {
  sessions = await sampleStudy();
});

/** So many volunteers with one recorder, the sample's own again and again under other codes. */
function studyOf(volunteers: number): ReportData {
  const all = Array.from({ length: volunteers }, (_, i): ReviewedSession => {
    const { session, logs } = sessions[i % sessions.length]!;
    const code = `P${String(i + 1).padStart(2, '0')}`;
    const recordings = session.recordings.map(r => ({ ...r, recording: { ...r.recording, recorder: 'chest band' } }));
    return { session: { ...session, id: code, participant: code, recordings }, logs };
  });
  return reportData(inputOf(all, 100)).data;
}

const words = ({ cautions, methods }: ReportData) => [...cautions, ...methods.map(m => m.text)].join('\n');

describe('the report’s sentences are true for', () => {
  test.each([1, 4, 8, 30])('%i volunteers, in number and in what they claim', volunteers => {
    const data = studyOf(volunteers);
    const said = words(data);
    // source: English: one takes the singular, everything else the plural
    expect(said).not.toMatch(
      /\b1 (volunteers|segments|sessions|recorders|recordings|activities|places|beats|intervals)\b/,
    );
    expect(said).not.toMatch(
      /\b(?!1\b)\d+ (volunteer|segment|session|recorder|recording|activity|place|beat|interval)\b(?!s)(?!’)/,
    );
    expect(said).toContain(volunteers === 1 ? '1 volunteer (P01)' : `${volunteers} volunteers (`);
    // One recorder: nothing of a second one, of clocks or of differences between recorders.
    expect(said).not.toMatch(/other recorder|two clocks|Paired difference|Differences:/);
    expect(said).toMatch(/Raters start from the marks under test.*second detector/s);
    const intervals = data.numbers.quality.filter(q => q.pooledClustered.value !== null && q.pooledClustered.interval);
    expect(said.includes('none adjusted for their number')).toBe(intervals.length > 1);
    expect(said.includes('One volunteer: the numbers describe this volunteer')).toBe(volunteers === 1);
    expect(said.includes(`${volunteers} volunteers are few`)).toBe(volunteers > 1 && volunteers < 30);
    expect(said.includes('say nothing about others')).toBe(volunteers === 1 || volunteers >= 30);
    expect(said).not.toContain('The intervals hold');
    expect(reportBody(data)).not.toMatch(/NaN|undefined/);
  });
});

const at = '2026-10-05T09:00:00.000Z';

const finishedBy = (log: EditLog): EditLog => append(log, { at, recording: '', intent: 'finish', change: [] }).log;

function logOf({ session }: ReviewedSession, rater: string, role: 'rater' | 'adjudicator'): EditLog {
  const detected = Object.fromEntries(session.recordings.map(r => [r.recording.id, detectedChecksum(r.detected)]));
  return newLog({ session: session.id, rater, role, detected });
}

/** A finished settlement of the first two logs of a session. */
function settledBy(reviewed: ReviewedSession): EditLog {
  const [a, b] = reviewed.logs.map(log => ({
    rater: log.header.rater,
    entries: log.entries.length,
    hash: lastHash(log),
  }));
  const fact = { kind: 'settledLogs', a: a!, b: b! } as const;
  return finishedBy(
    append(logOf(reviewed, 'S1', 'adjudicator'), { at, recording: '', intent: 'settle', change: [], fact }).log,
  );
}

const as = (reviewed: ReviewedSession, code: string, logs: readonly EditLog[]): ReviewedSession => ({
  session: { ...reviewed.session, id: code, participant: code },
  logs,
});

const reportOf = (all: readonly ReviewedSession[]) => reportData(inputOf(all, 100)).data;
const partOf = ({ methods }: ReportData, heading: string) => methods.find(m => m.heading === heading)!.text;

// source: the sessions as they are put together here
describe('the methods paragraph says who rated', () => {
  const twice = () => sessions.find(s => s.session.participant === 'V03')!;

  test('a settled review whose two ratings are not here', () => {
    const alone = as(twice(), 'P1', [settledBy(twice())]);
    const review = partOf(reportOf([alone]), 'Review');
    expect(review).toContain('The reviews counted here are adjudicated by S1; how much of the segments was looked at');
    expect(review).toContain('is not known: the two logs it settles are not here');
    expect(review).toContain('1 session (P1) had two ratings whose differences were settled');
    expect(review).not.toMatch(/No session had|mean coverage|second/);
    expect(reportBody(reportOf([alone]))).toMatch(
      /1 session rated by more than one.*the ratings that were settled are not here/s,
    );
  });

  test('settlements of some sessions are not those of others', () => {
    const settled = as(twice(), 'P1', [settledBy(twice())]);
    const open = as(twice(), 'P2', twice().logs);
    const review = partOf(reportOf([settled, open]), 'Review');
    expect(review).toContain('1 session had a second, blind rating (P2); no differences were settled.');
    const both = as(twice(), 'P3', [...twice().logs, settledBy(twice())]);
    const of = partOf(reportOf([both, open]), 'Review');
    expect(of).toContain('2 sessions had a second, blind rating (P2 and P3); differences were settled in 1.');
    expect(of).toContain('20 of 20 segments were looked at in full');
  });

  test('which of several second ratings were blind', () => {
    const [first, second] = twice().logs as [EditLog, EditLog];
    const seen = append(logOf(twice(), 'R2', 'rater'), {
      at,
      recording: '',
      intent: 'unblind',
      change: [],
      fact: { kind: 'unblinded', by: 'comparison', raters: ['R1'] },
    }).log;
    const { id } = twice().session.recordings[0]!.recording;
    const rated = finishedBy(
      append(seen, {
        at,
        recording: id,
        intent: 'accept',
        change: [{ op: 'accepted', removed: [], added: [{ start: 0 as SampleIndex, end: 9 as SampleIndex }] }],
      }).log,
    );
    const blind = as(twice(), 'P1', [first, second]);
    const notBlind = as(twice(), 'P2', [first, rated]);
    expect(partOf(reportOf([blind, notBlind]), 'Review')).toContain('second rating (P1 and P2), blind but for P2;');
    expect(partOf(reportOf([notBlind]), 'Review')).toContain('1 session had a second rating (P2), not blind;');
  });

  test('a later rating by the same rater is no second rating', () => {
    const again = finishedBy(logOf(twice(), 'R1.2', 'rater'));
    const review = partOf(reportOf([as(twice(), 'P1', [twice().logs[0]!, again])]), 'Review');
    expect(review).toContain('1 session (P1) had a later rating by the same rater.');
    expect(review).not.toContain('second');
    const html = reportBody(reportOf([as(twice(), 'P1', [twice().logs[0]!, again])]));
    expect(html).toContain('1 rater (R1); 1 volunteer; 0 sessions rated by more than one');
  });

  test('segments that were signed off unseen, and that nobody looked', () => {
    const unseen = as(twice(), 'P1', [finishedBy(logOf(twice(), 'R1', 'rater'))]);
    const review = partOf(reportOf([unseen]), 'Review');
    expect(review).toMatch(/^No mark was looked at by eye/);
    expect(review).toContain('though not looked at in full count as they stand: 10 of 10.');
    expect(words(reportOf([unseen]))).toContain('Of 10 of these nothing was looked at');
  });
});

// source: domain page, "a number that cannot be computed is shown as such with its reason"
describe('what has no quality is left out and said', () => {
  /** A volunteer on whom nothing can be read from end to end. */
  function unread(code: string): ReviewedSession {
    const reviewed = sessions[0]!;
    const all = reviewed.session.recordings.reduce(
      (log, { recording: { id, sampleCount } }) => {
        const whole = { start: 0 as SampleIndex, end: sampleCount as SampleIndex };
        const change = (['seen', 'unreadable'] as const).map(op => ({ op, removed: [], added: [whole] }));
        return append(log, { at, recording: id, intent: 'unreadable', change }).log;
      },
      logOf(reviewed, 'R1', 'rater'),
    );
    return as(reviewed, code, [finishedBy(all)]);
  }

  test('beside volunteers who have one', () => {
    const data = reportOf([...sessions.slice(0, 2), unread('P9')]);
    expect(data.numbers.quality.every(q => q.volunteers === 2)).toBe(true);
    const said = words(data);
    expect(said).toContain('2 were analysed');
    expect(said).toContain('P9 (no interval to judge)');
    expect(said).toContain('2 volunteers are few');
    expect(said).toContain(
      'in 10 of 30 segments: P9, chest band (5 segments: no readable beat); P9, adhesive logger (5 segments: no readable beat). Where no beat could be read',
    );
    expect(said).toMatch(/0 confirmed, \d+ with few odd intervals, \d+ not computable, 10 without a reviewed interval/);
  });

  test('with nobody who has one', () => {
    const data = reportOf([unread('P8'), unread('P9')]);
    expect(partOf(data, 'Uncertainty')).toContain('so there is no interval over volunteers');
    expect(words(data)).not.toMatch(/volunteers are few|Read the interval shown first/);
    expect(words(data)).toContain('0 were analysed');
    expect(reportBody(data)).not.toMatch(/NaN|undefined/);
  });
});

// source: definition, a segment is a stretch of its own
test('segments that lie over one another are named', () => {
  const reviewed = sessions[0]!;
  const [first, ...others] = reviewed.session.recordings;
  const [a, b, ...rest] = first!.segments;
  const segments = [a!, { ...b!, start: (b!.start - (b!.start - a!.end) - 500) as SampleIndex }, ...rest];
  const session = { ...reviewed.session, recordings: [{ ...first!, segments }, ...others] };
  expect(words(reportOf([{ ...reviewed, session }]))).toContain('Segments overlap (V01, chest band):');
  expect(words(reportOf([reviewed]))).not.toContain('Segments overlap');
  // Two recordings of one recorder each begin at 0 s.
  expect(words(studyOf(1))).not.toContain('Segments overlap');
});

// source: counted by hand, two volunteers with five activities and two recorders, one of which lacks two activities of one
test('recorders that have not the same people doing the same are not to be compared by their rows', () => {
  const [first, second] = sessions as [ReviewedSession, ReviewedSession];
  const [band, logger] = second.session.recordings;
  const fewer = { ...second.session, recordings: [band!, { ...logger!, segments: logger!.segments.slice(0, 3) }] };
  const said = words(reportOf([first, { ...second, session: fewer }]));
  expect(said).toContain('Not every recorder has every volunteer in every activity: 8 of 10 such places');
  expect(words(reportOf([first, second]))).not.toContain('Not every recorder');
});

// source: sampled-review page, "heart rate, HRV and agreement are not computable from a sample"
test('where every review is a sample, the methods describe nothing else', () => {
  const rater = new Rater();
  rater.plan(null);
  for (let n = 0; n < 12; n++) rater.take();
  const data = reportOf([{ session: rater.session, logs: [finishedBy(rater.log)] }]);
  expect(data.methods.map(m => m.heading)).toEqual([
    'Recordings',
    'Review',
    'Quality',
    'Sampled reviews',
    'Uncertainty',
  ]);
  expect(partOf(data, 'Uncertainty')).not.toContain('Of a single segment');
  expect(reportBody(data)).toContain('A sample gives quality alone, and no other review of a segment is complete.');
  expect(reportBody(data)).not.toMatch(/NaN|undefined/);
});

test('tables and figures are numbered in the order in which they stand', () => {
  const html = reportBody(reportData(inputOf(sessions.slice(0, 2), 100)).data);
  for (const what of ['Table ', 'Figure ', 'Table S', 'Figure S']) {
    const numbers = [...html.matchAll(new RegExp(`<strong>${what}(\\d+)\\.</strong>`, 'g'))].map(m => Number(m[1]));
    expect(numbers.length, what).toBeGreaterThan(2);
    expect(numbers).toEqual(numbers.map((_, i) => i + 1));
  }
  expect(html.indexOf('<strong>Table S1.')).toBeGreaterThan(html.lastIndexOf('<strong>Table 10.'));
});
