import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterAll, describe, expect, test } from 'vitest';
import { beatsSeconds, workedExamples } from '../../../src/core/known-answers/worked-examples';
import type { RecordingReview } from '../../../src/core/marks/edit';
import { type EditLog, replay } from '../../../src/core/marks/log';
import { sessionScores } from '../../../src/core/report/session-scores';
import { compareRaters } from '../../../src/core/review/raters/compare';
import { startAdjudication } from '../../../src/core/review/raters/settle';
import { detectedOf } from '../../../src/core/review/session';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { madeSession } from '../formats/bundle/reviewed';
import { cli, scratch, spawned } from './run';

const files = scratch();
afterAll(files.remove);

const rateHz = 360;
const column = (seconds: readonly number[]) => `sample\n${seconds.map(t => Math.round(t * rateHz)).join('\n')}\n`;
const beats = files.write('beats.csv', column(beatsSeconds));

async function scoreJson(...args: string[]) {
  const ran = await cli('score', '--rate', String(rateHz), '--json', ...args);
  expect(ran.err).toBe('');
  return JSON.parse(ran.out);
}

describe('score of CSV tables', () => {
  // source: worked examples of the definition of RR-interval quality, by hand
  test.each(workedExamples.map((e, i) => ({ ...e, i })))('worked example: $title', async example => {
    const detected = files.write(`d${example.i}.csv`, column([...example.marksSeconds].sort((a, b) => a - b)));
    const spans = (example.unreadableSeconds ?? []).map(
      ([a, b]) => `${Math.round(a * rateHz)},${Math.round(b * rateHz)}`,
    );
    const more = spans.length > 0 ? ['--unreadable', files.write('u.csv', `start,end\n${spans.join('\n')}\n`)] : [];
    const segments = files.write(`s${example.i}.csv`, `name,start,end\nrest,0,${11 * rateHz}\n`);
    const flags = ['--detected', detected, '--reviewed', beats, '--segments', segments, ...more];
    // One in a process of its own; the others need none to show how they are counted.
    const run = example.i === 0 ? spawned : cli;
    const ran = await run('score', '--rate', String(rateHz), '--json', ...flags);
    expect(ran).toMatchObject({ code: 0, err: '' });
    const report = JSON.parse(ran.out);
    const expected = {
      missed: example.missed,
      wrongPeak: example.wrongPeak,
      extra: example.extra,
      judgedIntervals: example.judged,
      lostIntervals: example.lost,
      rightIntervals: example.right,
      qualityPercent: example.qualityPercent,
      readableQualityPercent: example.readableQualityPercent ?? example.qualityPercent,
    };
    expect(report.segments).toHaveLength(1);
    expect(report.segments[0]).toMatchObject({ name: 'rest', ...expected });
    expect(report.total).toMatchObject(expected);
    // Lists say nothing of looking: whoever gives them has reviewed all of it.
    expect(report.total).toMatchObject({ status: 'final', lookedAtPercent: 100 });
    expect(report.settings).toMatchObject({ samplingRateHz: 360, onPeakToleranceMs: 50, wrongPeakWindowMs: 400 });
    const whole = await scoreJson(
      '--detected',
      detected,
      '--reviewed',
      beats,
      '--length',
      String(11 * rateHz),
      ...more,
    );
    expect(whole.segments[0]).toEqual({ ...report.segments[0], name: 'whole' });
  });

  test('carries the Wilson interval in percent', async () => {
    // source: Newcombe, Stat Med 1998;17:857, table I, method 3: 81 of 263 gives 0.2553 to 0.3662
    const marks = Array.from({ length: 264 }, (_, i) => i);
    const reviewed = files.write('many.csv', `sample\n${marks.map(i => 100 + 360 * i).join('\n')}\n`);
    // Leaving out every beat after number 81 leaves the 81 intervals before it right.
    const detected = files.write(
      'few.csv',
      `sample\n${marks
        .slice(0, 82)
        .map(i => 100 + 360 * i)
        .join('\n')}\n`,
    );
    const { total } = await scoreJson('--detected', detected, '--reviewed', reviewed);
    expect(total).toMatchObject({ rightIntervals: 81, judgedIntervals: 263 });
    expect(total.qualityInterval95IfIndependent[0]).toBeCloseTo(25.53, 2);
    expect(total.qualityInterval95IfIndependent[1]).toBeCloseTo(36.62, 2);
  });

  test('says null and why when there is no beat, no pair of beats, or no mark', async () => {
    const none = files.write('none.csv', 'sample\n');
    const one = files.write('one.csv', 'sample\n500\n');
    const noBeat = (await scoreJson('--detected', one, '--reviewed', none)).total;
    expect(noBeat).toMatchObject({
      qualityPercent: null,
      qualityInterval95: null,
      reason: 'no readable beat',
      extra: 1,
    });
    expect(noBeat).toMatchObject({ sensitivity: null, ppv: 0, f1: 0, detectionErrorRate: null, meanErrorMs: null });
    const nothing = (await scoreJson('--detected', none, '--reviewed', none)).total;
    expect(nothing).toMatchObject({ qualityPercent: null, f1: null, ppv: null });
    expect(nothing.reasons.f1).toBe('no readable beat and no detected mark');
    const single = (await scoreJson('--detected', none, '--reviewed', one)).total;
    expect(single.reason).toBe('no pair of consecutive readable beats');
    expect(single).toMatchObject({ qualityPercent: null, missed: 1, sensitivity: 0, ppv: null });
    const all = files.write('all.csv', 'start,end\n0,9000\n');
    const hidden = (await scoreJson('--detected', beats, '--reviewed', beats, '--unreadable', all)).total;
    expect(hidden).toMatchObject({ lostIntervals: null, qualityPercent: null, reason: 'no readable beat' });
    expect(JSON.stringify([noBeat, nothing, single, hidden])).not.toMatch(/NaN|Infinity/);
  });

  test('without segments the whole ends one past the last mark, beat or end of a span', async () => {
    const { segments } = await scoreJson('--detected', beats, '--reviewed', beats);
    expect(segments[0]).toMatchObject({
      name: 'whole',
      startSample: 0,
      endSample: 10.5 * rateHz + 1,
      judgedIntervals: 10,
    });
  });

  test('reads byte order marks, CR LF, no header, other columns, comments, blank lines and gzip alike', async () => {
    const plain = beatsSeconds.map(t => String(t * rateHz));
    const forms = [
      `\uFEFFsample\r\n${plain.join('\r\n')}\r\n`,
      plain.join('\n'),
      `time_s,sample,verdict\n${plain.map(s => `1.5,${s},kept`).join('\n')}`,
      `# made by hand\n\nSample\n${plain.map(s => `${s}.0`).join('\n\n')}\n`,
      `"sample"\n${plain.map(s => `"${s}"`).join('\n')}\n`,
    ];
    const { provenance: _, ...expected } = await scoreJson('--detected', beats, '--reviewed', beats);
    const paths = forms.map((form, i) => files.write(`form${i}.csv`, form));
    paths.push(files.write('form.csv.gz', gzipSync(forms[0]!)));
    for (const path of paths) expect(await scoreJson('--detected', path, '--reviewed', beats)).toMatchObject(expected);
  });

  test('settings change what counts: 60 ms late is on the peak with a tolerance of 60 ms only', async () => {
    const late = files.write('late.csv', column(beatsSeconds.map(t => t + 0.06)));
    const strict = await scoreJson('--detected', late, '--reviewed', beats);
    expect(strict.total).toMatchObject({ wrongPeak: 11, rightIntervals: 0 });
    const wide = await scoreJson('--detected', late, '--reviewed', beats, '--tolerance-ms', '62');
    expect(wide.total).toMatchObject({ wrongPeak: 0, refined: 11, rightIntervals: 10 });
    const narrow = await scoreJson('--detected', late, '--reviewed', beats, '--window-ms=55');
    expect(narrow.total).toMatchObject({ wrongPeak: 0, missed: 11, extra: 11 });
  });

  test('prints an aligned table by default', async () => {
    const { out, code } = await cli('score', '--rate', '360', '--detected', beats, '--reviewed', beats);
    expect(code).toBe(0);
    const [head, row] = out.split('\n');
    expect(head).toMatch(/^segment +beats +marks +missed/);
    expect(row).toMatch(/^whole +11 +11 +0 .* 100\.00 /);
    expect(row!.length).toBe(head!.length);
  });
});

describe('score of a bundle', () => {
  const made = madeSession(['R1', 'R2']);
  const bundle = files.write('session.zip', writeBundle(made.reviewed, made.leads));

  test('names each log and gives the numbers that the session has', async () => {
    const ran = await cli('score', bundle, '--json');
    const report = JSON.parse(ran.out);
    const expected = sessionScores(made.reviewed).map(s =>
      JSON.parse(JSON.stringify({ rater: s.rater, recorder: s.recorder, ...s.report })),
    );
    expect(report.scores).toHaveLength(4);
    expect(report.scores).toMatchObject(expected);
    expect(report.logs.map((l: { rater: string }) => l.rater)).toEqual(['R1', 'R2']);
    const table = await cli('score', bundle);
    for (const { rater, recorder } of report.scores)
      expect(table.out).toContain(`log of ${rater} (rater, signed off), ${recorder}`);
  });

  test('says of each segment how far it was looked at, in text and JSON', async () => {
    // source: the sample's rater signed off two activities, looked at half of the third and at nothing else
    const partly = join(import.meta.dirname, '../../../sample-sessions/sessions/V02.zip');
    const { scores } = JSON.parse((await cli('score', partly, '--json')).out);
    const rows = [...scores[0].segments, scores[0].total];
    expect(rows.map((r: { status: string }) => r.status)).toEqual([
      'final',
      'final',
      'so far',
      'not reviewed yet',
      'not reviewed yet',
      'so far',
    ]);
    expect(rows[2].lookedAtPercent).toBeGreaterThan(40);
    expect(rows[2].lookedAtPercent).toBeLessThan(60);
    expect(rows[3]).toMatchObject({
      qualityPercent: null,
      reason: 'not reviewed yet',
      lookedAtPercent: 0,
      extra: null,
    });
    expect(rows[5]).toMatchObject({
      finalSegments: 2,
      judgedIntervals: rows[0].judgedIntervals + rows[1].judgedIntervals,
    });
    const text = (await cli('score', partly)).out.split('\n');
    expect(text.find(l => l.startsWith('uphill run'))).toMatch(/^uphill run( +-)+ +not reviewed yet$/);
    expect(text.find(l => l.startsWith('approach hike'))).toMatch(/ so far, \d\d % looked at$/);
    expect(text.find(l => l.startsWith('all segments'))).toMatch(/ so far, 2 of 5 segments final$/);
  });

  test('names a settled log as what it is', async () => {
    const { session } = made.reviewed;
    const ids = session.recordings.map(r => r.recording.id);
    const [logA, logB] = made.reviewed.logs as [EditLog, EditLog];
    const reviews = [logA, logB].map(log => replay(log, detectedOf(session)).recordings);
    const comparisons = new Map(
      ids.map((id, i) => {
        const [a, b] = reviews.map(r => r.get(id)!) as [RecordingReview, RecordingReview];
        return [id, compareRaters({ item: session.recordings[i]!, a, b, settings: session.settings })] as const;
      }),
    );
    const settled = startAdjudication({ session, logA, logB, comparisons }, 'S1', '2026-02-20T09:00:00.000Z');
    const three = { session, logs: [...made.reviewed.logs, settled] };
    const path = files.write('settled.zip', writeBundle(three, made.leads));
    const report = JSON.parse((await cli('score', path, '--json')).out);
    expect(report.scores.map((s: { rater: string; role: string }) => `${s.rater} ${s.role}`)).toEqual(
      ['R1 rater', 'R2 rater', 'S1 adjudicator'].flatMap(words => ids.map(() => words)),
    );
    expect((await cli('score', path)).out).toContain('log of S1 (adjudicator, not signed off)');
  });

  test('one rater alone, and none that is not there', async () => {
    const one = JSON.parse((await cli('score', bundle, '--json', '--rater', 'R2')).out);
    expect(one.scores.map((s: { rater: string }) => s.rater)).toEqual(['R2', 'R2']);
    const other = await cli('score', bundle, '--rater', 'R9');
    expect(other).toMatchObject({ code: 2, out: '', err: 'error: no log of rater R9; the bundle has R1, R2\n' });
  });
});

test('the process itself ends with code 2 and one line for a refusal', async () => {
  const ran = await spawned('score', beats, '--rate', '360');
  expect(ran).toEqual({ code: 2, out: '', err: 'error: --rate does not go with a bundle, which carries its own\n' });
});

describe('refusals: one line on stderr, exit code 2, no stack', () => {
  const bad = files.write('bad.csv', 'sample\n10\n2O\n');
  const backwards = files.write('backwards.csv', 'start,end\n10,5\n');
  const other = files.write('other.csv', 'index\n10\n');
  test.each([
    [['scor'], 'did you mean score?'],
    [['score', '--detectd', 'x'], 'score has no --detectd: did you mean --detected?'],
    [['score'], 'score needs a bundle, or --rate, --detected and --reviewed'],
    [['score', '--rate', '0', '--detected', beats, '--reviewed', beats], '--rate needs a number above 0, not 0'],
    [['score', '--rate', '--detected', beats], '--rate needs a value: HZ'],
    [['score', '--rate', '1', '--rate', '2'], '--rate is given twice'],
    [['score', '--rate', '360', '--detected', bad, '--reviewed', beats], 'bad.csv (CSV), line 3: sample is "2O"'],
    [['score', '--rate', '360', '--detected', other, '--reviewed', beats], 'the header has no column "sample"'],
    [
      ['score', '--rate', '360', '--detected', beats, '--reviewed', beats, '--unreadable', backwards],
      'line 2: it ends at 5',
    ],
    [['score', '--rate', '360', '--detected', '/none.csv', '--reviewed', beats], 'there is no file /none.csv'],
    [['score', beats], 'beats.csv (zip), its end: there is no zip directory'],
    [['score', beats, '--rate', '360'], '--rate does not go with a bundle'],
  ])('%j', async (args, message) => {
    const ran = await cli(...args);
    expect(ran).toMatchObject({ code: 2, out: '' });
    expect(ran.err).toContain(message);
    expect(ran.err).toMatch(/^error: .*\n$/);
  });
});
