import { readFileSync } from 'node:fs';
import { afterAll, expect, test } from 'vitest';
import type { Change } from '../../../src/core/marks/edit';
import { append, type EditLog, type Intent, newLog, replay } from '../../../src/core/marks/log';
import { insertMark, isRefusal, signOff } from '../../../src/core/review/edits';
import { detectedOf, logHeader } from '../../../src/core/review/session';
import { drawsOf, layOutPlan, planReview, takeStretches } from '../../../src/core/review/standing/sampled';
import { sampleIndex } from '../../../src/core/units';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { nightWatch } from '../../browser/two-hours';
import { cli, scratch } from './run';

// Someone who knows nothing of how the recording was made has a report and a session bundle, and repeats its number.

const files = scratch();
afterAll(files.remove);

const { session, ecg, bundle } = nightWatch(600);
const [item] = session.recordings;
const seed = 60_311;

async function run(...args: string[]) {
  const ran = await cli(...args);
  expect(ran, ran.err).toMatchObject({ code: 0 });
  return ran.out;
}

/** A rater's log: the sample as planned, missed beats put in, so many stretches accepted, the review finished. */
function reviewed(plan: Parameters<typeof planReview>[1], stretches: number): EditLog {
  let log = newLog(logHeader(session, 'R1'));
  const at = '2026-09-13T08:00:00.000Z';
  const editing = () => {
    const { recordings, finished } = replay(log, detectedOf(session));
    return { item: item!, review: recordings.get(item!.recording.id)!, finished };
  };
  const write = (intent: Intent, built: ReturnType<typeof insertMark>) => {
    if (built === null || isRefusal(built)) throw new Error(built?.refused ?? 'nothing to write');
    log = append(log, { at, recording: item!.recording.id, intent, change: built as Change }).log;
  };
  write('sample', planReview(editing(), plan));
  const laidOut = layOutPlan(item!, plan)!;
  for (let n = 0; n < stretches; n++) {
    const [next] = drawsOf(item!, editing().review, laidOut, 1).next;
    const { start, end } = laidOut.stretches[next!]!;
    const here = editing().review.marks;
    // A beat is missed where no mark is within 50 ms; nothing else is corrected.
    for (const beat of ecg.beats.filter(b => b >= start && b < end && !here.some(m => Math.abs(m - b) < 7))) {
      write('insert', insertMark(editing(), sampleIndex(beat)));
    }
    write('accept', takeStretches(editing(), laidOut, [next!], 'reviewed'));
  }
  write('sign off', signOff(editing(), 'night watch', at, 'a sample was agreed on'));
  return append(log, { at, recording: '', intent: 'finish', change: [] }).log;
}

test('a report, its seed and the bundle are enough to repeat a sampled number', async () => {
  const plain = files.write('watch.zip', bundle);
  const planned = JSON.parse(await run('sample', plain, '--seed', String(seed), '--json'));
  const { stretches } = planned as { stretches: { class: number; u: number }[] };
  const plan = {
    segment: null,
    seed,
    stretchSeconds: planned.stretchSeconds,
    contextSeconds: 2,
    shares: planned.shares,
    weights: planned.weights,
    halfWidth: 0.01,
    classes: stretches.map(s => s.class),
    bounds: stretches.map(s => s.u),
  };
  const log = reviewed(plan, 25);
  const path = files.write(
    'V98.zip',
    writeBundle({ session, logs: [log] }, () => ecg.leads[0]!),
  );

  // The report's words.
  await run('report', path, '--out', files.path('report'), '--draws', '100');
  const report = JSON.parse(readFileSync(files.path('report/report.json'), 'utf8'));
  const methods: { heading: string; text: string }[] = report.methods;
  const { text } = methods.find(m => m.heading === 'Sampled reviews')!;
  const said =
    /by (\w+): sampled, (\d+) of (\d+) stretches, .*, seed (\d+), quality ([\d.]+) % \(95 % interval ([\d.]+) to ([\d.]+) %\)/.exec(
      text,
    )!;
  const [, rater, reviewedStretches, all, saidSeed, value, low, high] = said;
  expect([rater, reviewedStretches, all]).toEqual(['R1', '25', '120']);
  expect(report.cautions.join(' ')).toContain('Heart rate, HRV and agreement of recorders are not computable');
  // In no number of full reviews, and in a table of its own.
  expect(report.hrv.effects).toEqual([]);
  expect(report.sampled).toMatchObject([{ sampled: 1, volunteers: [{ review: 'sampled, 25 of 120 stretches' }] }]);
  expect(readFileSync(files.path('report/report.html'), 'utf8')).toContain('Quality where reviews are samples');

  // The order follows from the seed, and was kept.
  const order = JSON.parse(await run('sample', path, '--seed', saidSeed!, '--json')).order as number[];
  const steps = await run('sample', path, '--rater', rater!);
  const drawn = (JSON.parse(steps).steps as { i: number; known?: boolean }[]).filter(s => !s.known).map(s => s.i);
  expect(drawn).toEqual(order.slice(0, 25));

  // The number follows from the stretches.
  const share = JSON.parse(await run('sample-interval', files.write('steps.json', steps), '--json'));
  expect((100 * share.estimate).toFixed(2)).toBe(value);
  expect(share.interval.map((end: number) => (100 * end).toFixed(2))).toEqual([low, high]);
});
