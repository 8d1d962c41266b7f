import { beforeAll, describe, expect, test } from 'vitest';
import { type ReportData, reportData } from '../../../../src/core/report/report';
import type { ReviewedSession } from '../../../../src/core/review/session';
import { reportBody } from '../../../../src/report/html';
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

test('tables and figures are numbered in the order in which they stand', () => {
  const html = reportBody(reportData(inputOf(sessions.slice(0, 2), 100)).data);
  for (const what of ['Table ', 'Figure ', 'Table S', 'Figure S']) {
    const numbers = [...html.matchAll(new RegExp(`<strong>${what}(\\d+)\\.</strong>`, 'g'))].map(m => Number(m[1]));
    expect(numbers.length, what).toBeGreaterThan(2);
    expect(numbers).toEqual(numbers.map((_, i) => i + 1));
  }
  expect(html.indexOf('<strong>Table S1.')).toBeGreaterThan(html.lastIndexOf('<strong>Table 10.'));
});
