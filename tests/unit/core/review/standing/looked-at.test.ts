import { readFileSync } from 'node:fs';
import { csvParse } from 'd3-dsv';
import { beforeAll, describe, expect, test } from 'vitest';
import { append, type EditLog, replay } from '../../../../../src/core/marks/log';
import { reportData } from '../../../../../src/core/report/report';
import { evidenceNote } from '../../../../../src/core/review/places/evidence';
import { compareRaters } from '../../../../../src/core/review/raters/compare';
import { startAdjudication } from '../../../../../src/core/review/raters/settle';
import { detectedOf, type ReviewedSession } from '../../../../../src/core/review/session';
import { coverageOfAll } from '../../../../../src/core/review/standing/coverage';
import { lookedAt, lookedAtWords, lookersOf } from '../../../../../src/core/review/standing/looked-at';
import { sampleIndex } from '../../../../../src/core/units';
import { readBundle } from '../../../../../src/formats/bundle/reader';
import { bytesSource } from '../../../../../src/formats/bytes/source';
import { resultsCsv, resultsSidecar } from '../../../../../src/formats/csv/results';
import { reportBody } from '../../../../../src/report/html';
import { inputOf, studyPath } from '../../report/sample-study';

const at = '2026-09-20T09:00:00.000Z';

/** Two raters' logs settled by S1. */
function settle(reviewed: ReviewedSession): EditLog {
  const { session } = reviewed;
  const [logA, logB] = reviewed.logs as [EditLog, EditLog];
  const [a, b] = [logA, logB].map(log => replay(log, detectedOf(session)).recordings);
  const comparisons = new Map(
    session.recordings.map(item => {
      const { id } = item.recording;
      const both = { a: a!.get(id)!, b: b!.get(id)! };
      return [id, compareRaters({ item, ...both, settings: session.settings })] as const;
    }),
  );
  const log = startAdjudication({ session, logA, logB, comparisons }, 'S1', at);
  return append(log, { at, recording: '', intent: 'finish', change: [] }).log;
}

describe('what a settled review rests on', () => {
  let three: ReviewedSession;
  beforeAll(async () => {
    const { reviewed } = await readBundle(bytesSource('V03.zip', readFileSync(studyPath('V03'))));
    const [r1, r2] = reviewed.logs as [EditLog, EditLog];
    // R2 has stopped before the end.
    const two = [r1, { ...r2, entries: r2.entries.slice(0, 200) }];
    three = { session: reviewed.session, logs: [...two, settle({ ...reviewed, logs: two })] };
  });

  // source: definition; R1 of the sample has looked at everything, and R2's 200 entries at a part
  test('the looking of the two raters, each told apart', () => {
    const { session, logs } = three;
    const log = logs[2]!;
    const { recordings } = replay(log, detectedOf(session));
    const [item] = session.recordings;
    expect(coverageOfAll(item!, recordings.get(item!.recording.id)!).share).toBeLessThan(0.01);
    const r2 = replay(logs[1]!, detectedOf(session)).recordings.get(item!.recording.id)!;
    const looked = lookedAt(item!, lookersOf(session, log, recordings, logs), null);
    expect(looked.by.map(b => b.rater)).toEqual(['R1', 'R2']);
    expect(looked.by[0]!.share).toBe(1);
    expect(looked.by[1]!.share).toBe(coverageOfAll(item!, r2).share);
    expect(looked.share).toBe(looked.by[1]!.share);
    expect(lookedAtWords(looked)).toMatch(/^R1 100\.0 %, R2 \d\d?\.\d %$/);
    expect(lookedAt(item!, lookersOf(session, log, recordings, [log]), null)).toEqual({ share: null, by: [] });
  });

  test('report, results table and its JSON say so', () => {
    const { data } = reportData(inputOf([three]));
    expect(data.segments[0]).toMatchObject({
      source: 'adjudicated by S1',
      coverageBy: [{ rater: 'R1', share: 1 }, {}],
    });
    const body = reportBody(data);
    expect(body).toMatch(/R1 100\.0 %, R2 \d+\.\d %/);
    expect(body).toContain('of a settled review, that of the rater who looked at less: R1 and R2');
    const rows = csvParse(resultsCsv([{ reviewed: three, raters: ['S1'] }]));
    expect(rows[0]!['looked_at_by']).toMatch(/^R1 100\.0 %, R2/);
    expect(Number(rows[0]!['coverage_percent'])).toBe(100 * data.segments[0]!.coverageShare!);
    const sidecar = JSON.stringify(resultsSidecar([{ reviewed: three, raters: ['S1'] }], at));
    expect(sidecar).toContain('"lookedAtBy":[{"rater":"R1","percent":100},{"rater":"R2"');
  });

  test('without their logs nothing is claimed', () => {
    const alone = { ...three, logs: [three.logs[2]!] };
    const { data } = reportData(inputOf([alone]));
    expect(data.segments[0]).toMatchObject({ coverageShare: null, coverageBy: [] });
    expect(data.cautions.join(' ')).toContain('is not known: the two logs it settles are not here');
    expect(reportBody(data)).toContain('not computable, the two logs it settles are not here');
    const [row] = csvParse(resultsCsv([{ reviewed: alone, raters: ['S1'] }]));
    expect(row).toMatchObject({ coverage_percent: '', looked_at_by: 'the two logs it settles are not here' });
    expect(row!['not_computable']).toContain('coverage: ');
  });

  // source: definition; one such comment in the first segment of the chest band
  test('places looked up on the other recorder are counted in the results table', () => {
    const { session, logs } = three;
    const [item] = session.recordings;
    const start = sampleIndex(item!.segments[0]!.start + 100);
    const note = evidenceNote('n1', start, 'adhesive logger');
    const change = [{ op: 'note' as const, before: null, after: note }];
    const { log } = append(logs[1]!, { at, recording: item!.recording.id, intent: 'comment', change });
    const rows = csvParse(resultsCsv([{ reviewed: { session, logs: [log] }, raters: ['R2'] }]));
    const counts = rows.map(r => `${r['recording']} ${r['row']} ${r['other_trace_used']}`);
    expect(counts[0]).toBe('chest-band segment 1');
    expect(counts[1]).toBe('chest-band segment 0');
    expect(counts.filter(c => c.endsWith(' 1'))).toEqual(['chest-band segment 1', 'chest-band total 1']);
  });
});
