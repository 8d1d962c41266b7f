import { csvParse } from 'd3-dsv';
import fc from 'fast-check';
import { describe, expect, test } from 'vitest';
import { append, type Draft, type EditLog, newLog, redoDraft, replay, undoDraft } from '../../../../src/core/marks/log';
import { provenanceOf } from '../../../../src/core/report/provenance';
import { sessionScores } from '../../../../src/core/report/session-scores';
import { detectedOf, logHeader, type ReviewedSession } from '../../../../src/core/review/session';
import { sampleIndex, span } from '../../../../src/core/units';
import { arraySamples, memorySink } from '../../../../src/formats/bytes/memory-sink';
import { bytesSource } from '../../../../src/formats/bytes/source';
import { csvText, unguarded } from '../../../../src/formats/csv/csv';
import {
  auditTrailCsv,
  marksColumnCsv,
  reviewedMarksCsv,
  rrIntervalsCsv,
  spansCsv,
} from '../../../../src/formats/csv/marks';
import { resultsCsv, resultsSidecar } from '../../../../src/formats/csv/results';
import { readEdf } from '../../../../src/formats/edf/reader';
import { reviewedEdf } from '../../../../src/formats/edf/reviewed';
import { edfBytes } from '../../../../src/formats/edf/writer';
import { idFrom, wallMs, wallTime } from '../../../../src/formats/opened';
import { previewMarks, readMarks } from '../../../../src/formats/text/marks';
import { previewSegments, readSegments, segmentsText } from '../../../../src/formats/text/segments';
import { recordingWith, sessionWith } from '../../core/review/sample-session';
import { madeSession } from '../bundle/reviewed';

const textSource = (text: string) => bytesSource('export.csv', new TextEncoder().encode(text));

describe('CSV cells', () => {
  test('quotes as RFC 4180 says, lines end in CR LF', () => {
    // source: RFC 4180, section 2, rules 1, 5, 6 and 7
    const text = csvText(
      ['a', 'b'],
      [
        ['x,y', 'say "hi"'],
        ['two\r\nlines', 1.5],
      ],
    );
    expect(text).toBe('a,b\r\n"x,y","say ""hi"""\r\n"two\r\nlines",1.5\r\n');
  });

  test('no text is taken for a formula, and numbers stay numbers', () => {
    // source: what spreadsheets take for a formula (a cell starting with = + - @, tab or CR): common practice
    const rows = ['=1+1', '+1', '-1', '@sum', '\tx', '\r=x'].map(t => [t] as const);
    const cells = csvParse(csvText(['t'], rows)).map(r => r['t']!);
    expect(cells).toEqual(["'=1+1", "'+1", "'-1", "'@sum", "'\tx", "'\r=x"]);
    expect(csvText(['n'], [[-1.5], [null], [true]])).toBe('n\r\n-1.5\r\n\r\nyes\r\n');
    expect(() => csvText(['n'], [[Number.NaN]])).toThrow(RangeError);
  });

  test('any table of texts comes back through another parser', () => {
    // source: d3-dsv 3 as second reader
    const cell = fc.oneof(fc.string({ unit: 'binary', maxLength: 12 }), fc.stringMatching(/^'{0,2}[=+@-].?$/));
    const table = fc.array(fc.tuple(cell, cell), { minLength: 1, maxLength: 8 });
    const property = fc.property(table, rows => {
      const back = csvParse(csvText(['a', 'b'], rows)).map(r => [unguarded(r['a']!), unguarded(r['b']!)]);
      expect(back).toEqual(rows);
    });
    fc.assert(property, { numRuns: 100, seed: 3 });
  });
});

/** A rater who looked at all of a recording up to `end`. */
function lookedAtAll(end: number): Draft {
  const added = [span(0, end)];
  const change = [
    { op: 'seen', removed: [], added },
    { op: 'accepted', removed: [], added },
  ] as const;
  return { at: 'x', recording: 'chest-band', intent: 'accept', change };
}

describe('results table', () => {
  const made = madeSession(['R1', 'R2']);
  const rows = csvParse(resultsCsv([{ reviewed: made.reviewed, raters: ['R1', 'R2'] }]));

  test('one row for each rater, recorder and segment, and their totals', () => {
    expect(rows).toHaveLength(2 * 2 * 3);
    expect(rows.map(r => `${r['rater']} ${r['recording']} ${r['row']} ${r['segment']}`).slice(0, 3)).toEqual([
      'R1 chest-band segment seated radio watch',
      'R1 chest-band segment uphill run',
      'R1 chest-band total all segments',
    ]);
  });

  test('holds to the last digit what the scores hold', () => {
    const scores = sessionScores(made.reviewed);
    const expected = scores.flatMap(s => [...s.report.segments, s.report.total]);
    for (const [i, row] of rows.entries()) {
      const score = expected[i]!;
      const pairs: [string, unknown][] = [
        ['missed', score['missed']],
        ['wrong_peak', score['wrongPeak']],
        ['judged_intervals', score['judgedIntervals']],
        ['lost_intervals', score['lostIntervals']],
        ['right_intervals', score['rightIntervals']],
        ['quality_percent', score['qualityPercent']],
        ['quality_low95_percent', (score['qualityInterval95'] as number[])[0]],
        ['f1', score['f1']],
        ['sd_error_ms', score['sdErrorMs']],
      ];
      for (const [column, value] of pairs) expect(Number(row[column]), column).toBe(value);
      const { quality_percent: q, right_intervals: right, judged_intervals: judged, lost_intervals: lost } = row;
      const rateHz = Number(row['sampling_rate_hz']);
      expect(Number(row['start_s'])).toBe(Number(row['start_sample']) / rateHz);
      expect(Number(row['end_s'])).toBe(Number(row['end_sample']) / rateHz);
      expect([row['coverage_percent'], row['not_computable']]).toEqual(['0', '']);
      expect(Number(q)).toBeCloseTo((100 * Number(right)) / (Number(judged) + Number(lost)), 10);
    }
  });

  test('leaves a cell empty and says why when a number cannot be computed', () => {
    const item = recordingWith({ detected: [100, 200] });
    const session = sessionWith(item);
    const header = logHeader(session, 'R1');
    const change = [{ op: 'marks', removed: [sampleIndex(100), sampleIndex(200)], added: [] }] as const;
    const deleted = append(newLog(header), { at: 'x', recording: 'chest-band', intent: 'delete', change });
    const { log } = append(deleted.log, lookedAtAll(1000));
    const row = csvParse(resultsCsv([{ reviewed: { session, logs: [log] }, raters: ['R1'] }]))[0]!;
    expect(row).toMatchObject({
      quality_percent: '',
      quality_low95_percent: '',
      extra: '2',
      sensitivity: '',
      ppv: '0',
    });
    expect(row['not_computable']).toContain('qualityPercent: no readable beat');
    expect(Object.values(row).join()).not.toMatch(/NaN|null|undefined/);
  });

  test('shows only the raters it is asked for, in table and sidecar', () => {
    const three = madeSession(['R1', 'SECRET-2']);
    const shown = [{ reviewed: three.reviewed, raters: ['R1'] }];
    const all = resultsCsv(shown) + JSON.stringify(resultsSidecar(shown, '2026-10-01'));
    expect(all).toContain('R1');
    const hidden = three.reviewed.logs[1]!;
    for (const trace of ['SECRET', ...hidden.entries.map(e => e.hash)]) expect(all).not.toContain(trace);
  });

  test('the sidecar holds date, versions, settings, raters and coverage', () => {
    const sidecar = resultsSidecar([{ reviewed: made.reviewed, raters: ['R2'] }], '2026-10-01T10:00:00Z');
    expect(sidecar).toMatchObject({
      date: '2026-10-01T10:00:00Z',
      writtenBy: expect.stringMatching(/^Beat Ledger \d/),
    });
    const [session] = sidecar['sessions'] as {
      settings: unknown;
      raters: { rater: string; recordings: unknown[] }[];
    }[];
    expect(session).toMatchObject({ settings: { onPeakToleranceMs: 50, wrongPeakWindowMs: 400 } });
    expect(session!.raters.map(r => r.rater)).toEqual(['R2']);
    expect(session!.raters[0]!.recordings[0]).toMatchObject({ segments: [{ coveragePercent: 0, seenSeconds: 0 }, {}] });
    expect(JSON.parse(JSON.stringify(sidecar))).toEqual(sidecar);
  });

  test('the sidecar holds who looked and each sign-off, by its segment', () => {
    const signOff = { segment: 'uphill run', at: '2026-09-13T09:00:00.000Z', reason: 'no signal to speak of' };
    const log = append(newLog(logHeader(made.reviewed.session, 'R1')), {
      at: signOff.at,
      recording: 'chest-band',
      intent: 'sign off',
      change: [{ op: 'signOff', before: null, after: signOff }],
    } as Draft).log;
    const sidecar = resultsSidecar([{ reviewed: { ...made.reviewed, logs: [log] }, raters: ['R1'] }], signOff.at);
    const [session] = sidecar['sessions'] as {
      raters: { recordings: { recording: string; segments: unknown[] }[] }[];
    }[];
    const [chest, logger] = session!.raters[0]!.recordings;
    expect(chest!.segments).toMatchObject([
      { segment: 'seated radio watch', signOff: null, lookedAtBy: [{ rater: 'R1', percent: 0 }] },
      { segment: 'uphill run', signOff },
    ]);
    expect(logger!.segments).toMatchObject([{ signOff: null }, { signOff: null }]);
  });
});

describe('times and names of a file', () => {
  test('a wall time goes there and back; what is none is reported', () => {
    const at = Date.UTC(2026, 8, 12, 9, 0, 3, 250);
    expect(wallTime(at)).toBe('2026-09-12T09:00:03.250');
    expect(wallTime(at - 250)).toBe('2026-09-12T09:00:03');
    expect(wallTime(at + 0.4)).toBe('2026-09-12T09:00:03.250');
    expect(wallMs('2026-09-12T09:00:03.250')).toBe(at);
    expect(wallMs('2026-09-12 09:00:03')).toBe(at - 250);
    expect(wallMs('2026-09-12 09:00')).toBe(at - 3250);
    for (const none of [
      '2026-09-12',
      'on 2026-09-12T09:00',
      '12.09.2026 09:00',
      '2026-09-12T09:00:xx',
      '2026-13-40T09:00:00',
    ]) {
      expect(wallMs(none), none).toBeNull();
    }
  });

  test.each([
    ['V01 chest-band.2026.csv', 'V01-chest-band-2026'],
    ['.hidden', 'recording'],
    ['--V01--.edf', 'V01'],
    ['V01, (day 2).edf', 'V01-day-2'],
    [`${'a'.repeat(70)}.csv`, 'a'.repeat(60)],
    ['(( V01 )).edf', 'V01'],
  ])('%s is the recording %s', (name, id) => {
    expect(idFrom(name)).toBe(id);
  });
});

describe('marks and intervals', () => {
  /** Beats 1 s apart at 100 Hz; the recorder missed one, moved one to a T wave, added one. */
  const item = recordingWith({
    detected: [100, 200, 430, 500, 560, 600, 700],
    segments: [
      ['rest', 0, 550],
      ['run', 550, 1000],
    ],
  });
  const session = sessionWith(item);
  const log = [
    { intent: 'insert', change: [{ op: 'marks', removed: [], added: [sampleIndex(300)] }] },
    { intent: 'move', change: [{ op: 'marks', removed: [sampleIndex(430)], added: [sampleIndex(400)] }] },
    { intent: 'delete', change: [{ op: 'marks', removed: [sampleIndex(560)], added: [] }] },
    { intent: 'move', change: [{ op: 'marks', removed: [sampleIndex(200)], added: [sampleIndex(201)] }] },
    { intent: 'unreadable', change: [{ op: 'unreadable', removed: [], added: [span(640, 760)] }] },
  ].reduce<EditLog>(
    (l, act, i) => append(l, { at: `2026-09-13T08:0${i}:00Z`, recording: 'chest-band', ...act } as Draft).log,
    newLog(logHeader(session, 'R1')),
  );
  const reviewed: ReviewedSession = { session, logs: [log] };
  const { review } = sessionScores(reviewed)[0]!;
  const inFull = append(log, lookedAtAll(1000)).log;
  const { score } = sessionScores({ session, logs: [inFull] })[0]!;

  test('reviewed marks with their verdicts', () => {
    // source: verdicts by hand from the definitions (tolerance 50 ms, window 400 ms)
    const { lookers, review: all } = sessionScores({ session, logs: [inFull] })[0]!;
    expect(reviewedMarksCsv(item, all, session.settings, lookers).split('\r\n')).toEqual([
      'sample,time_s,verdict,detected_sample',
      '100,1,kept,100',
      '201,2.01,refined,200',
      '300,3,inserted,',
      '400,4,moved,430',
      '500,5,kept,500',
      '600,6,kept,600',
      '700,7,unreadable,',
      '',
    ]);
  });

  test('a mark as it came that nobody judged was not looked at, never kept', () => {
    // The deleted mark's neighbours at 5 s and 6 s are as the recorder had them; what was moved or inserted was judged.
    const { lookers } = sessionScores(reviewed)[0]!;
    const verdicts = csvParse(reviewedMarksCsv(item, review, session.settings, lookers)).map(r => r['verdict']);
    const left = 'not looked at';
    expect(verdicts).toEqual([left, 'refined', 'inserted', 'moved', left, left, 'unreadable']);
    const part = append(log, lookedAtAll(150)).log;
    const half = sessionScores({ session, logs: [part] })[0]!;
    const first = csvParse(reviewedMarksCsv(item, half.review, session.settings, half.lookers))[0]!;
    expect(first['verdict']).toBe('kept');
  });

  test('an RR interval in a part that was not looked at is neither right nor wrong', () => {
    const part = append(log, lookedAtAll(250)).log;
    const rows = csvParse(rrIntervalsCsv(sessionScores({ session, logs: [part] })[0]!.score));
    expect(rows.map(r => [r['judged'], r['right'], r['cause']]).slice(0, 3)).toEqual([
      ['yes', 'yes', ''],
      ['no', '', 'not looked at'],
      ['no', '', 'not looked at'],
    ]);
  });

  test('RR intervals with cause', () => {
    // source: causes by hand; the interval from 5 s to 6 s crosses the segment boundary
    expect(rrIntervalsCsv(score).split('\r\n')).toEqual([
      'start_sample,start_s,rr_ms,judged,right,cause,segment',
      '100,1,1010,yes,yes,,rest',
      '201,2.01,990,yes,no,missed,rest',
      '300,3,1000,yes,no,missed,rest',
      '400,4,1000,yes,no,wrong peak,rest',
      '500,5,1000,no,,not in one segment,',
      '',
    ]);
  });

  test('an interval with something unreadable in it is not judged, and says so', () => {
    const change = [{ op: 'unreadable', removed: [], added: [span(220, 280)] }] as const;
    const own = append(newLog(logHeader(session, 'R1')), {
      at: 'x',
      recording: 'chest-band',
      intent: 'unreadable',
      change,
    });
    const rows = csvParse(rrIntervalsCsv(sessionScores({ session, logs: [own.log] })[0]!.score));
    const row = rows.find(r => r['start_sample'] === '200')!;
    expect(row).toMatchObject({ judged: 'no', right: '', cause: 'unreadable between', segment: 'rest' });
  });

  test('the audit trail says in words what was done, and what was taken back', () => {
    const draft = undoDraft(log, replay(log, detectedOf(session)), '2026-09-13T09:00:00Z')!;
    const rows = csvParse(auditTrailCsv(session, append(log, draft).log));
    expect(rows.map(r => [r['intent'], r['what'], r['undoes'], r['state']])).toEqual([
      ['insert', 'mark inserted at 3.000 s', '', ''],
      ['move', 'mark moved from 4.300 s to 4.000 s', '', ''],
      ['delete', 'mark at 5.600 s deleted', '', ''],
      ['move', 'mark moved from 2.000 s to 2.010 s', '', ''],
      ['unreadable', 'unreadable: 6.400 s to 7.600 s', '', 'undone'],
      ['unreadable', 'no longer unreadable: 6.400 s to 7.600 s', '4', ''],
    ]);
    expect(rows.map(r => r['hash'])).toEqual([...log.entries.map(e => e.hash), rows[5]!['hash']]);
  });

  test('an entry done again is undone no more; it says which it does again, and where it came from', () => {
    const at = '2026-09-13T09:00:00Z';
    const taken = append(log, undoDraft(log, replay(log, detectedOf(session)), at)!).log;
    const again = append(taken, redoDraft(taken, replay(taken, detectedOf(session)), at)!).log;
    const change = [{ op: 'marks', removed: [], added: [sampleIndex(77)] }] as const;
    const settled: Draft = { at, recording: 'chest-band', intent: 'settle', change, origin: 'B' };
    const rows = csvParse(auditTrailCsv(session, append(again, settled).log));
    expect(rows.slice(4).map(r => [r['undoes'], r['redoes'], r['state'], r['origin']])).toEqual([
      ['', '', '', ''],
      ['4', '', '', ''],
      ['', '4', '', ''],
      ['', '', '', 'B'],
    ]);
  });

  test('a remark that looks like a formula stays a text', () => {
    const note = { id: 'n1', kind: 'flag', start: sampleIndex(1), end: sampleIndex(1), text: '' } as const;
    const change = [{ op: 'note', before: null, after: note }] as const;
    const draft: Draft = { at: 'x', recording: 'chest-band', intent: 'flag', change, reason: '=HYPERLINK("x")' };
    const row = csvParse(auditTrailCsv(session, append(log, draft).log)).at(-1)!;
    expect(row['reason']).toBe(`'=HYPERLINK("x")`);
    expect(row['what']).toBe('flag at 0.010 s added');
  });

  test('marks and segments are read again by the importers', async () => {
    const clock = item.recording;
    for (const text of [reviewedMarksCsv(item, review, session.settings, null), marksColumnCsv(review.marks)]) {
      const layout = await previewMarks(textSource(text), clock);
      expect(layout.unit).toBe('sample');
      expect((await readMarks(textSource(text), layout, clock)).marks).toEqual(review.marks);
    }
    const segments = segmentsText(item.segments, clock.samplingRateHz, 'sample');
    const layout = await previewSegments(textSource(segments));
    expect((await readSegments(textSource(segments), layout, clock)).segments).toEqual(item.segments);
    expect(spansCsv(review.unreadable)).toBe('start,end\r\n640,760\r\n');
  });

  const lead = {
    name: 'I',
    samplingRateHz: 100,
    sampleCount: 1000,
    format: 'int16',
    mvPerUnit: 0.005,
    offset: 0,
    fileUnit: 'mV',
  } as const;

  test('EDF+ annotations of the review are read again, with and without the signal', async () => {
    const words = Int16Array.from({ length: 1000 }, (_, i) => (i * 37) % 300);
    const withLead = { ...item, recording: { ...item.recording, leads: [lead] } };
    const provenance = provenanceOf({ session: { ...session, recordings: [withLead] }, logs: [log] });
    const content = reviewedEdf(withLead, review, [arraySamples(words)], 'V01', provenance);
    const sink = memorySink();
    const choice = { marksTexts: ['R-peak'], segmentTexts: ['rest', 'run'] };
    const opened = await readEdf(bytesSource('reviewed.edf', await edfBytes(content)), choice, sink);
    expect(opened.marks).toEqual(review.marks);
    expect(opened.segments).toEqual(item.segments);
    // What it was made from is told, and is no label that could be beats.
    const [told] = opened.understood.filter(u => u.startsWith('The file says what it was made from:'));
    expect(told).toContain(`last entry ${provenance.reviews[0]!.lastHash}`);
    expect(told).toContain(`SHA-256 of the marks ${provenance.recordings[0]!.detectedSha256}`);
    expect(opened.annotations.filter(a => a.text === 'unreadable')).toEqual([
      { onsetSeconds: 6.4, durationSeconds: 1.2, text: 'unreadable' },
    ]);
    expect(Array.from(sink.lead(0))).toEqual(Array.from(words));
    const bare = reviewedEdf(withLead, review, [], 'V01', provenance);
    expect(bare.annotations).toEqual(content.annotations);
    expect((await edfBytes(bare)).length).toBeLessThan(2000);
  });

  test('long doubts go on from one annotation to the next, and are told as they were', async () => {
    const doubts = [
      'Rest begins at a time that no clock of the recording shows, and is read as minutes and seconds from its start.',
      'About 4 rows share a time stamp. Counted from one new stamp to the next they run at 360 Hz; all else is unknown.',
    ];
    const origin = { format: 'text', fileSha256: '', signalSha256: '', doubts, leftOut: [] };
    const doubted = { ...item, recording: { ...item.recording, origin, leads: [lead] } };
    const provenance = provenanceOf({ session: { ...session, recordings: [doubted] }, logs: [log] });
    const content = reviewedEdf(doubted, review, [arraySamples(new Int16Array(1000))], 'V01', provenance);
    const opened = await readEdf(bytesSource('doubted.edf', await edfBytes(content)), {}, memorySink());
    const [told] = opened.understood.filter(u => u.startsWith('The file says what it was made from:'));
    for (const doubt of doubts) expect(told).toContain(`; doubtful, accepted: ${doubt.slice(0, -1)};`);
    expect(told).toMatch(/[^.]\.$/);
  });
});
