import { afterAll, describe, expect, test } from 'vitest';
import { drawingOrder } from '../../../src/core/sample/order';
import { layOut } from '../../../src/core/sample/plan';
import { writeBundle } from '../../../src/formats/bundle/writer';
import { Rater } from '../core/review/standing/sampled-session';
import { madeSession } from '../formats/bundle/reviewed';
import { cli, scratch } from './run';

const files = scratch();
afterAll(files.remove);

async function run(...args: string[]) {
  const ran = await cli(...args);
  expect(ran, ran.err).toMatchObject({ code: 0 });
  return ran;
}

describe('sample-interval', () => {
  const stretches = Array.from({ length: 200 }, (_, i) => ({ u: 8, g: i < 10 ? 4 : 1 }));
  const steps = [
    ...Array.from({ length: 10 }, (_, i) => ({ i, e: 3, m: 6, known: true })),
    ...Array.from({ length: 40 }, (_, i) => ({ i: 10 + i, e: i === 9 ? 1 : 0, m: 6 })),
  ];

  test('gives the published check value', async () => {
    // Published with the design of the method: ten known stretches, then 40 drawn ones.
    const file = files.write('c.json', JSON.stringify({ alpha: 0.05, stretches, steps }));
    const share = JSON.parse((await run('sample-interval', file, '--json')).out);
    expect(share).toMatchObject({ drawn: 40, known: 10, skipped: 0, rest: 150 });
    expect(share.estimate).toBeCloseTo(0.971042, 6);
    expect(share.interval[0]).toBeCloseTo(0.872649, 5);
    expect(share.interval[1]).toBeCloseTo(0.978295, 5);
    expect((await run('sample-interval', file)).out).toBe(
      'quality 97.104 %, 95 % interval 87.265 to 97.829 % (40 drawn, 10 known, 0 skipped, 150 left)\n',
    );
  });

  // Published with the design of the method; drawn stretches as [index, wrong] of 6 intervals each.
  const plain = (n: number, wrong: Readonly<Record<number, number>> = {}) =>
    Array.from({ length: n }, (_, i) => [i, wrong[i] ?? 0] as const);
  const mixed = [
    [0, 2],
    [20, 0],
    [1, 0],
    [21, 0],
    [2, 3],
    [22, 0],
    [23, 1],
    [24, 0],
  ] as const;
  const alike = (count: number, heavy = 0) => Array.from({ length: count }, (_, i) => ({ u: 8, g: i < heavy ? 2 : 1 }));

  test.each([
    ['A, 10 drawn', alike(100), plain(10), 1, 0.638113, 1],
    ['A, 60 drawn', alike(100), plain(60), 1, 0.947333, 1],
    ['B, 20 drawn', alike(100), plain(20, { 4: 2, 19: 2 }), 0.966667, 0.77771, 0.994737],
    ['B, 80 drawn', alike(100), plain(80, { 4: 2, 19: 2 }), 0.991667, 0.958103, 0.99375],
    ['B, all drawn', alike(100), plain(100, { 4: 2, 19: 2 }), 0.993333, 0.993333, 0.993333],
    ['D', alike(60, 20), mixed, 0.885185, 0.400257, 0.987069],
  ] as const)('gives check value %s', async (_, own, drawn, estimate, low, high) => {
    const content = { alpha: 0.05, stretches: own, steps: drawn.map(([i, e]) => ({ i, e, m: 6 })) };
    const share = JSON.parse(
      (await run('sample-interval', files.write('v.json', JSON.stringify(content)), '--json')).out,
    );
    expect(share.estimate).toBeCloseTo(estimate, 5);
    expect(share.interval[0]).toBeCloseTo(low, 5);
    expect(share.interval[1]).toBeCloseTo(high, 5);
  });

  test('names classes of one weight apart, widens for a skipped stretch, and tells a raised bound', async () => {
    const two = [
      { u: 8, g: 1, class: 0 },
      { u: 8, g: 1, class: 1 },
      { u: 8, g: 1, class: 1 },
    ];
    const file = (name: string, steps: object[]) => files.write(name, JSON.stringify({ stretches: two, steps }));
    const share = async (name: string, steps: object[]) =>
      JSON.parse((await run('sample-interval', file(name, steps), '--json')).out);
    // Class 0 is done: the rest takes the mean of class 1, 1 - (0 + 1 + 1) / (6 + 6 + 6).
    const half = await share('a.json', [
      { i: 0, e: 0, m: 6 },
      { i: 1, e: 1, m: 6 },
    ]);
    expect(half.estimate).toBeCloseTo(16 / 18, 12);
    const left = await share('b.json', [
      { i: 0, e: 0, m: 6 },
      { i: 1, skipped: true },
      { i: 2, e: 0, m: 6 },
    ]);
    // At worst all of the 8 intervals the skipped one may hold are wrong, at best none.
    expect(left.interval).toEqual([0.6, 1]);
    expect(left).toMatchObject({ estimate: 1, skipped: 1, rest: 0 });
    expect((await share('c.json', [{ i: 0, e: 0, m: 12 }])).boundFactor).toBe(1.5);
  });

  test('before the first draw has no estimate', async () => {
    const file = files.write('none.json', JSON.stringify({ stretches, steps: [] }));
    expect(JSON.parse((await run('sample-interval', file, '--json')).out)).toMatchObject({
      estimate: null,
      interval: [0, 1],
    });
  });

  test('refuses what cannot be, and names the place', async () => {
    for (const [content, message] of [
      ['{', 'is not JSON'],
      ['{"stretches":[]}', 'steps: '],
      ['{"stretches":[{"u":"8","g":1}],"steps":[]}', 'stretches.0.u: '],
      ['{"stretches":[],"steps":[]}', 'there is no stretch to sample'],
      ['{"stretches":[{"u":8,"g":1}],"steps":[{"i":1}]}', 'there is no stretch 1'],
      ['{"stretches":[{"u":8,"g":1}],"steps":[{"i":0,"e":2,"m":1}]}', 'stretch 0 has 2 errors in 1 intervals'],
      ['{"stretches":[{"u":8,"g":1,"class":0},{"u":8,"g":2,"class":0}],"steps":[]}', 'have different weights'],
      ['{"stretches":[{"u":8,"g":1}],"steps":[],"alpha":2}', 'alpha lies between 0 and 1'],
    ] as const) {
      const ran = await cli('sample-interval', files.write('bad.json', content));
      expect(ran).toMatchObject({ code: 2, out: '' });
      expect(ran.err).toContain(message);
    }
  });
});

describe('sample', () => {
  const made = madeSession(['R1']);
  const bundle = files.write('session.zip', writeBundle(made.reviewed, made.leads));

  test('gives the plan as JSON, whose order follows from the seed', async () => {
    const plan = JSON.parse((await run('sample', bundle, '--seed', '7', '--stretch-s', '2', '--json')).out);
    const again = JSON.parse((await run('sample', bundle, '--seed', '7', '--stretch-s', '2', '--json')).out);
    expect(again).toEqual(plan);
    const other = JSON.parse((await run('sample', bundle, '--seed', '8', '--stretch-s', '2', '--json')).out);
    expect({ ...other, seed: 7, order: plan.order, provenance: plan.provenance }).toEqual(plan);
    expect(other.order).not.toEqual(plan.order);
    const item = made.reviewed.session.recordings.find(r => r.recording.id === plan.recording)!;
    const laidOut = layOut(
      {
        segment: null,
        seed: 7,
        stretchSeconds: 2,
        contextSeconds: 2,
        shares: plan.shares,
        weights: plan.weights,
        halfWidth: null,
        classes: plan.stretches.map((s: { class: number }) => s.class),
        bounds: plan.stretches.map((s: { u: number }) => s.u),
      },
      item.segments,
      plan.samplingRateHz,
    );
    expect(plan.order).toEqual([...laidOut.order]);
    expect(plan.stretches.map((s: { start: number; end: number }) => [s.start, s.end])).toEqual(
      laidOut.stretches.map(s => [s.start, s.end]),
    );
  });

  test('gives the order as CSV, of one segment too', async () => {
    const { name } = made.reviewed.session.recordings[0]!.segments[0]!;
    const lines = (await run('sample', bundle, '--seed', '7', '--segment', name)).out.trim().split('\n');
    expect(lines[0]).toBe('draw,start,end,class,weight,bound');
    expect(lines[1]).toMatch(/^1,\d+,\d+,[0-4],(4|2|1\.5|1),\d+$/);
  });

  test('gives the steps of a review, from which anyone finds the number that score prints', async () => {
    const rater = new Rater();
    rater.plan(null);
    for (let i = 0; i < 12; i++) rater.take(i === 4 ? 'skipped' : 'reviewed');
    const words = new Int16Array(rater.item.recording.sampleCount);
    const reviewed = files.write(
      'sampled.zip',
      writeBundle({ session: rater.session, logs: [rater.log] }, () => words),
    );
    const report = JSON.parse((await run('score', reviewed, '--json')).out);
    const { sampled } = report.scores[0].total;
    expect(sampled).toMatchObject({ drawn: 11, known: 3, skipped: 1, stretches: 120, seed: 11 });
    const steps = (await run('sample', reviewed, '--rater', 'R1')).out;
    // The order follows from the seed, the weights and the bounds alone.
    const plan = JSON.parse(steps);
    const stretches = plan.stretches.map((s: { u: number; class: number }) => ({ bound: s.u, group: s.class }));
    const order = [...drawingOrder({ stretches, weights: [4, 2, 1.5, 1, 1] }, plan.seed)];
    const drawn = plan.steps.filter((s: { known?: boolean }) => !s.known).map((s: { i: number }) => s.i);
    expect(order.filter(i => i < 60 || i > 62).slice(0, 12)).toEqual(drawn);
    const share = JSON.parse((await run('sample-interval', files.write('steps.json', steps), '--json')).out);
    expect(100 * share.estimate).toBeCloseTo(sampled.qualityPercent, 9);
    for (const end of [0, 1]) expect(100 * share.interval[end]).toBeCloseTo(sampled.interval95[end], 9);
    expect(share).toMatchObject({ drawn: 11, known: 3, skipped: 1, rest: 105 });
    const text = (await run('score', reviewed)).out;
    expect(text).toContain('all segments: sampled, 14 of 120 stretches: quality ');
    expect(text).toContain('; 11 drawn, 3 known, 1 skipped; seed 11');
    expect(text).toContain('walk: sampled, ');
  });

  test('refuses what it cannot know', async () => {
    for (const [args, message] of [
      [[bundle, '--rater', 'R1'], 'the log of R1 has no sample of '],
      [[bundle, '--rater', 'R1', '--seed', '1'], '--seed goes without --rater'],
      [[bundle], 'sample needs --seed'],
      [[bundle, '--seed', '1.5'], '--seed needs a whole number'],
      [[bundle, '--seed', '1', '--segment', 'swim'], 'no segment swim; there are'],
      [['--seed', '1'], 'sample takes one file'],
    ] as const) {
      const ran = await cli('sample', ...args);
      expect(ran).toMatchObject({ code: 2, out: '' });
      expect(ran.err).toContain(message);
    }
  });
});
